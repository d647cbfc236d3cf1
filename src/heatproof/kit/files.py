"""Files written whole or not at all (see `heatproof._files`), under the name that most rooms know."""

from heatproof._files import write_through, write_whole

__all__ = ["write_through", "write_whole"]
