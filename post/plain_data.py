"""Results as plain data of strict JSON, and back.

JSON has no infinite and no undefined numbers: such a number is the word ``infinite`` or
``undefined`` in its place, so that what is read back is what was written. Arrays are lists, a
dataclass is a mapping of its fields.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np
from pydantic import BaseModel

INFINITE, UNDEFINED = "infinite", "undefined"
MEANING = {INFINITE: math.inf, f"-{INFINITE}": -math.inf, UNDEFINED: math.nan}


def plain(value: Any) -> Any:
    """Turn a result into plain data: dataclasses, models, arrays and all they hold."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, BaseModel):
        return plain(value.model_dump())
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, Mapping):
        return {str(key): plain(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [plain(entry) for entry in value]
    if isinstance(value, np.generic):
        return plain(value.item())
    if isinstance(value, float) and not math.isfinite(value):
        return UNDEFINED if math.isnan(value) else INFINITE if value > 0 else f"-{INFINITE}"
    return value


def numbers(value: Any) -> Any:
    """Read plain data back: words for numbers become numbers, lists stay lists."""
    if isinstance(value, Mapping):
        return {key: numbers(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [numbers(entry) for entry in value]
    return MEANING.get(value, value) if isinstance(value, str) else value
