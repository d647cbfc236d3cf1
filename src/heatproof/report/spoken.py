"""Keys as people say them, where a file gives no title."""


def spaced(key: str) -> str:
    """`bay_rear` as `Bay rear`."""
    return key.replace("_", " ").capitalize()
