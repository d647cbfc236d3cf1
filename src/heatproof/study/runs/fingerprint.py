"""A hash of plain data, records and arrays that is the same in every process and on every day."""

import hashlib
import json
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np
from pydantic import BaseModel


def plain(value: Any) -> Any:
    """Records, dataclasses and arrays as lists, texts and numbers; floats exact. TypeError for anything else."""
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, float):
        return value.hex()
    if isinstance(value, dict):
        return [[plain(key), plain(one)] for key, one in value.items()]
    if isinstance(value, list | tuple):
        return [plain(one) for one in value]
    if isinstance(value, BaseModel):
        return [type(value).__name__, plain(dict(value))]
    if is_dataclass(value) and not isinstance(value, type):
        return [type(value).__name__, [[f.name, plain(getattr(value, f.name))] for f in fields(value)]]
    if isinstance(value, np.ndarray):
        return [str(value.dtype), list(value.shape), value.tobytes().hex()]
    if isinstance(value, np.generic):
        return plain(value.item())
    raise TypeError(f"no fingerprint for {type(value).__name__}")


def fingerprint(*values: Any) -> str:
    """24 hex digits."""
    text = json.dumps(plain(values), ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:24]
