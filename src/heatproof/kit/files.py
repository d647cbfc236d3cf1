"""Files written whole or not at all (see `heatproof._files`), under the name that most rooms know."""

from heatproof._files import finish_writing, tidy_once, write_through, write_together, write_whole

__all__ = ["finish_writing", "tidy_once", "write_through", "write_together", "write_whole"]
