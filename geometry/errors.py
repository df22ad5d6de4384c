"""What a user is told when a case cannot be taken: one line, never a traceback.

Form of the line
    ``FILE:LINE: FIELD: VALUE REASON; allowed: WHAT; did you mean 'NEAREST'?``
    Parts that are not known are left out.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from typing import TYPE_CHECKING, NoReturn

from pydantic_core import PydanticCustomError

if TYPE_CHECKING:
    from pydantic import ValidationError

    from geometry.case import Case
    from geometry.case_file import Origin

SHOWN = 60  # characters of a value that a message repeats


class CaseError(Exception):
    """A case that is refused, as one line for its author.

    Parameters
    ----------
    source : str
        The file, as the user named it.
    field : str
        Dotted field such as ``wall.layup[0].ply``; empty where the whole file is meant.
    value : str
        The value as it was written; empty where there is none.
    reason : str
        What is wrong with it.
    allowed : str
        What would be taken instead.
    nearest : str
        Nearest right spelling.
    line : int or None
        Line of the file, from 1.
    more : int
        How many further faults the file has.
    """

    def __init__(
        self,
        source: str,
        field: str = "",
        value: str = "",
        reason: str = "",
        allowed: str = "",
        nearest: str = "",
        line: int | None = None,
        more: int = 0,
    ) -> None:
        self.source, self.field, self.value = source, field, value
        self.reason, self.allowed, self.nearest = reason, allowed, nearest
        self.line, self.more = line, more
        super().__init__(str(self))

    def __reduce__(self) -> tuple[type[CaseError], tuple[str | int | None, ...]]:
        """Pickle by parts, so that a worker process can hand the error on."""
        parts = (self.source, self.field, self.value, self.reason, self.allowed, self.nearest)
        return type(self), (*parts, self.line, self.more)

    def __str__(self) -> str:
        """Put the parts into one line."""
        where = f"{self.source}:{self.line}" if self.line else self.source
        what = " ".join(part for part in (quoted(self.value), self.reason) if part)
        text = ": ".join(part for part in (where, self.field, what) if part)
        if self.allowed:
            text += f"; allowed: {self.allowed}"
        if self.nearest:
            text += f"; did you mean '{self.nearest}'?"
        if self.more:
            text += f" (and {self.more} more)"
        return one_line(text)


def refuse(
    case: Case, field: str, value: str, allowed: str, reason: str = "does not fit"
) -> NoReturn:
    """Refuse a case that was read but cannot be built.

    Parameters
    ----------
    case : Case
    field : str
        Dotted field, for instance ``joint.overlap.inner``.
    value : str
        The value in words, with its unit; empty to show it as it was written.
    allowed : str
        What would be taken instead.
    reason : str, optional
        What is wrong.

    Raises
    ------
    CaseError
        Always; it names the file and the line the case was read from.
    """
    origin = case.origin
    raise CaseError(
        origin.path,
        field,
        value or origin.written(field),
        reason,
        allowed,
        line=origin.line(field),
    )


def refusal(
    reason: str, allowed: str, nearest: str = "", field: str = "", value: str | None = None
) -> PydanticCustomError:
    """Make the error a validator raises; `geometry.case` turns it into a `CaseError`.

    Parameters
    ----------
    reason, allowed, nearest : str
        As in `CaseError`.
    field : str
        Field below the one that is being validated, such as ``lip.inner``.
    value : str or None
        Value to show instead of the one that was written.

    Returns
    -------
    PydanticCustomError
    """
    text = f"{reason}; allowed: {allowed}" + (f"; did you mean '{nearest}'?" if nearest else "")
    context = {"reason": reason, "allowed": allowed, "nearest": nearest, "field": field}
    if value is not None:
        context["value"] = value
    # braces would be taken for a template's fields
    return PydanticCustomError("refused", "{text}", {**context, "text": text})


def nearest_spelling(word: str, known: Iterable[str]) -> str:
    """Nearest of the known spellings, or an empty text when none is near."""
    known = list(known)
    folded = {name.casefold(): name for name in reversed(known)}
    near = difflib.get_close_matches(word[:200].casefold(), folded, n=1, cutoff=0.6)
    return folded[near[0]] if near else ""


def quoted(value: str) -> str:
    """Put a value in quotes, shortened; empty stays empty."""
    if not value:
        return ""
    return f"'{value if len(value) <= SHOWN else value[: SHOWN - 3] + '...'}'"


def one_line(text: str) -> str:
    """Make control characters and line ends of a text visible, and bound its length."""
    text = re.sub(r"\s+", " ", text)
    text = "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in text)
    return text if len(text) <= 800 else text[:797] + "..."


_PLAIN_WORDS = {
    "string_type": ("is not text", "text"),
    "string_too_short": ("is empty", "text"),
    "int_type": ("is not a whole number", "a whole number such as 3"),
    "int_from_float": ("is not a whole number", "a whole number such as 3"),
    "float_type": ("is not a number", "a number such as 1.5"),
    "finite_number": ("is not a finite number", "a number such as 1.5"),
    "dict_type": ("is not a mapping", "names with values"),
    "list_type": ("is not a list", "a list such as [90, 90, 0]"),
    "tuple_type": ("is not a list", "a list such as [90, 90, 0]"),
}


def case_error(error: ValidationError, origin: Origin, root: str = "") -> CaseError:
    """Turn the first fault that validation found into one line.

    Parameters
    ----------
    error : pydantic.ValidationError
    origin : Origin
        Lines and texts of the file.
    root : str
        Field that was validated, where it is not the whole file.

    Returns
    -------
    CaseError
    """
    # a list counts as too short once its faulty entries are taken out: no fault of its own
    faults = [
        fault
        for fault in error.errors(include_url=False)
        if fault["type"] != "too_short" or not fault["input"]
    ]
    fault = faults[0]
    context = fault.get("ctx", {})
    name = _dotted((root, *fault["loc"], *context.get("field", "").split(".")))
    kind = fault["type"]
    nearest = context.get("nearest", "")
    if kind == "refused":
        reason, allowed = context["reason"], context["allowed"]
    elif kind == "literal_error":
        reason, allowed = "is not one of those allowed", context["expected"].replace("'", "")
        words = re.findall(r"[\w.-]+", allowed.replace(" or ", " "))
        nearest = nearest_spelling(str(fault["input"]), words)
    elif kind in _PLAIN_WORDS:
        reason, allowed = _PLAIN_WORDS[kind]
    elif kind == "string_pattern_mismatch":
        reason = "is not a name"
        allowed = "lower-case letters, digits, '-' and '.', such as epoxy-paste"
    elif kind == "too_short":
        reason, allowed = "is empty", "at least one entry"
    else:
        reason = "is too long" if kind.endswith("too_long") else "is out of range"
        allowed = re.sub(r"^\w+ should (be|have) |, not \d+$| after validation", "", fault["msg"])
    # a value given once for many fields, or a plain value of a card, is written further up
    missing = reason in ("is missing", "is not a field here")
    while not missing and name not in origin.lines and "." in name:
        name = name.rpartition(".")[0]
    value = context.get("value", origin.written(name) or _shown(fault["input"]))
    return CaseError(
        origin.path,
        name,
        "" if missing else value,
        reason,
        allowed,
        nearest,
        origin.line(name),
        len(faults) - 1,
    )


def _dotted(parts: Iterable[str | int]) -> str:
    """Join the parts of a field's place; tags of alternatives are no part of it."""
    name = ""
    for part in parts:
        if isinstance(part, int):
            name += f"[{part}]"
        elif part and part not in ("isotropic", "transverse", "orthotropic", "[key]"):
            name += f".{part}" if name else part
    return name


def _shown(value: object) -> str:
    """Say a value in a few words, where its own text is not known."""
    if value is None:
        return ""
    if isinstance(value, dict):
        return "a mapping"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    return str(value)[: 2 * SHOWN]
