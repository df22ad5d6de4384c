"""What the parts of a case file have in common: plain names, counts, texts, and `Part`."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from geometry import bounds
from geometry.errors import nearest_spelling, refusal

NAME_PATTERN = rf"^[a-z0-9][a-z0-9.-]{{0,{bounds.NAME - 1}}}$"


def _one_line(text: str) -> str:
    if not text.isprintable():
        raise refusal("has line ends or control characters", "text on one line")
    return text


# a line end after a name would pass the pattern
Name = Annotated[str, Field(pattern=NAME_PATTERN), AfterValidator(_one_line)]
Text = Annotated[str, Field(min_length=1, max_length=bounds.TITLE), AfterValidator(_one_line)]
Prose = Annotated[str, Field(max_length=bounds.NOTE)]


class Part(BaseModel):
    """A mapping of the case file: frozen, every field known, each attribute described."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        use_attribute_docstrings=True,
        allow_inf_nan=False,
        regex_engine="python-re",
    )

    @model_validator(mode="before")
    @classmethod
    def _know_every_field(cls, tree: Any) -> Any:
        if isinstance(tree, cls):
            return tree
        names = [name for name in cls.model_fields if not cls.model_fields[name].exclude]
        if not isinstance(tree, dict):
            raise refusal("is not a mapping", f"the fields {', '.join(names)}")
        for key in tree:
            if key not in cls.model_fields:
                # a pair without a blank after its colon is read as one long name
                spaced = str(key).replace(":", ": ", 1)
                near = spaced if ":" in str(key) else nearest_spelling(str(key), names)
                raise refusal("is not a field here", ", ".join(names), near, str(key), "")
        for name in names:
            field = cls.model_fields[name]
            if field.is_required() and tree.get(name) is None:
                what = (field.description or "a value").splitlines()[0].rstrip(".")
                raise refusal("is missing", what[0].lower() + what[1:], "", name, "")
        return tree
