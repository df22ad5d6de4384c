"""Reading YAML text safely, with the line of every field; writing it.

Formulation
    YAML 1.2, one document, plain data only. The file is bounded before it is read and its tree
    while it is built, so that neither a huge file nor an alias that doubles itself can stall a
    run. Keys written twice are refused: the first would be lost without a word.
"""

from __future__ import annotations

import os
import re
import stat
from dataclasses import dataclass, field
from io import StringIO
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from geometry import bounds
from geometry.errors import CaseError, nearest_spelling

CORE = "tag:yaml.org,2002:"
_PLAIN = ("map", "seq", "str", "int", "float", "bool", "null", "timestamp", "value", "merge")
# what YAML does not take as text
_STRANGE = re.compile(r"[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

Tree = Any  # nested dict, list, str, int, float, bool, None


@dataclass(eq=False)
class Origin:
    """Where a case came from: its file, and for each field its line and its text.

    No part of what a case says: any two are equal, so that a case read back from a copy
    equals the first.
    """

    path: str = "case"
    lines: dict[str, int] = field(default_factory=dict)
    texts: dict[str, str] = field(default_factory=dict)

    def __eq__(self, other: object) -> bool:
        """Any two origins are equal."""
        return isinstance(other, Origin)

    __hash__ = None  # type: ignore[assignment]

    def line(self, name: str) -> int | None:
        """Line of a field, or of the nearest field above it that was written."""
        while name and name not in self.lines:
            name = re.sub(r"(\.[^.\[]*|\[\d+\]|^[^.\[]*)$", "", name)
        return self.lines.get(name)

    def written(self, name: str) -> str:
        """Text of a plain value as it was written, or an empty text."""
        return self.texts.get(name, "")


def read_yaml(path: str | os.PathLike[str]) -> tuple[Tree, Origin]:
    """Read a YAML file into plain data.

    Parameters
    ----------
    path : path-like

    Returns
    -------
    tree : dict
        Nested dicts, lists, texts and numbers.
    origin : Origin
        Lines and texts of the fields.

    Raises
    ------
    CaseError
        When the file cannot be read, is not UTF-8, not YAML, not a mapping, or is too large.
    """
    origin = Origin(os.fspath(path))
    text = _decode(_read_bytes(Path(path)), origin.path)
    _bound_brackets(text, origin.path)
    try:
        node = YAML(typ="safe", pure=True).compose(text)
    except MarkedYAMLError as error:
        raise _syntax_error(error, text, origin.path) from None
    except RecursionError:
        raise CaseError(
            origin.path, reason="is nested too deeply", allowed=f"{bounds.TREE_LEVELS} levels"
        ) from None
    except (YAMLError, ValueError) as error:
        reason = str(error).splitlines()[0] if str(error) else "cannot be read"
        raise CaseError(origin.path, reason=reason, allowed="plain text in YAML") from None
    if node is None:
        raise CaseError(origin.path, reason="is empty", allowed="title, duty, wall, joint, ...")
    if not isinstance(node, MappingNode):
        raise CaseError(
            origin.path, reason="is not a mapping", allowed="fields such as 'title: ...'", line=1
        )
    return _Builder(origin).build(node, "", 0), origin


def write_yaml(tree: Tree, path: str | os.PathLike[str]) -> None:
    """Write plain data as YAML in UTF-8, without fields that hold an empty text or mapping."""
    yaml = YAML(typ="safe", pure=True)
    yaml.default_flow_style = False
    yaml.sort_base_mapping_type_on_output = False  # type: ignore[assignment]
    yaml.allow_unicode = True
    yaml.width = 100
    text = StringIO()
    yaml.dump(_without_empty(tree), text)
    Path(path).write_text(text.getvalue(), encoding="utf-8")


def _without_empty(tree: Tree) -> Tree:
    if isinstance(tree, dict):
        return {k: _without_empty(v) for k, v in tree.items() if v not in ("", {})}
    return [_without_empty(v) for v in tree] if isinstance(tree, list) else tree


def _read_bytes(path: Path) -> bytes:
    source = os.fspath(path)
    try:
        kind = path.stat().st_mode
        if stat.S_ISDIR(kind):
            hint = os.fspath(path / "case.yaml") if (path / "case.yaml").is_file() else ""
            raise CaseError(
                source, reason="is a folder", allowed="a case file such as case.yaml", nearest=hint
            )
        if not stat.S_ISREG(kind):
            raise CaseError(source, reason="is not a file", allowed="a case file such as case.yaml")
        with path.open("rb") as stream:
            content = stream.read(bounds.FILE_BYTES + 1)
    except FileNotFoundError:
        raise CaseError(
            source, reason="no such file", allowed="the path of a case file", nearest=_near(path)
        ) from None
    except (OSError, ValueError) as error:
        reason = f"cannot be read: {getattr(error, 'strerror', None) or error}"
        raise CaseError(source, reason=reason, allowed="a readable file") from None
    if len(content) > bounds.FILE_BYTES:
        raise CaseError(
            source, reason="is too large for a case", allowed=f"up to {bounds.FILE_BYTES:,} bytes"
        )
    return content


def _near(path: Path) -> str:
    """Nearest path that exists, where one part of it is misspelt."""
    for place in (path, path.parent):
        try:
            names = [p.name for p in place.parent.iterdir()]
        except OSError:
            continue
        close = nearest_spelling(place.name, names)
        found = place.parent / close / path.relative_to(place) if close else path
        if found.is_file():
            return os.fspath(found)
    return ""


def _decode(content: bytes, source: str) -> str:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise CaseError(source, reason="is UTF-16 text", allowed="a file saved as UTF-8")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise CaseError(
            source,
            reason=f"byte 0x{content[error.start]:02x} is not UTF-8",
            allowed="a file saved as UTF-8",
            line=content[: error.start].count(b"\n") + 1,
        ) from None
    strange = _STRANGE.search(text)
    if strange:
        raise CaseError(
            source,
            reason=f"control character 0x{ord(strange[0]):02x} in the text",
            allowed="plain text saved as UTF-8",
            line=text[: strange.start()].count("\n") + 1,
        )
    return text


def _bound_brackets(text: str, source: str) -> None:
    """Refuse brackets that never close: the parser's time grows with the square of their depth."""
    depth = 0
    for bracket in re.finditer(r"[\[{\]}]", text):
        depth += 1 if bracket[0] in "[{" else -1
        if depth > bounds.OPEN_BRACKETS:
            raise CaseError(
                source,
                reason="is nested too deeply",
                allowed=f"{bounds.TREE_LEVELS} levels",
                line=text[: bracket.start()].count("\n") + 1,
            )


def _syntax_error(error: MarkedYAMLError, text: str, source: str) -> CaseError:
    mark = error.problem_mark or error.context_mark
    line = mark.line + 1 if mark else None
    written = text.splitlines()[mark.line] if mark and mark.line < len(text.splitlines()) else ""
    problem = error.problem or error.context or "is not YAML"
    if "\t" in written[: len(written) - len(written.lstrip())] or r"'\t'" in problem:
        return CaseError(source, reason="a tab at the line's start", allowed="blanks", line=line)
    if "another document" in problem:
        allowed = "one document: no line of '---' between fields"
        return CaseError(source, reason="holds a second document", allowed=allowed, line=line)
    if "undefined alias" in problem or "tag" in problem or "anchor" in problem:
        return CaseError(source, reason=problem, allowed="plain values", line=line)
    return CaseError(
        source,
        value=written.strip(),
        reason=f"is not YAML: {problem}",
        allowed="'field: value' lines, indented with blanks",
        line=line,
    )


class _Builder:
    """Builds plain data from YAML nodes, counting what it builds."""

    def __init__(self, origin: Origin) -> None:
        self.origin = origin
        self.values = 0
        self.scalars = YAML(typ="safe", pure=True).constructor

    def build(self, node: Node, name: str, depth: int) -> Tree:
        """Plain data of a node; `name` is its dotted field."""
        line = node.start_mark.line + 1
        self.origin.lines.setdefault(name, line)
        self.values += 1
        if self.values > bounds.TREE_VALUES or depth > bounds.TREE_LEVELS:
            # of the field's name only the beginning: it is as deep as the tree
            self._refuse(
                re.match(r"[^.\[]*(\.[^.\[]*)?", name)[0],  # type: ignore[index]
                line,
                "the file expands to too much",
                f"{bounds.TREE_VALUES:,} values, {bounds.TREE_LEVELS} levels deep, "
                "aliases followed",
            )
        if str(node.tag).removeprefix(CORE) not in _PLAIN:
            self._refuse(name, line, f"the tag '{node.tag}' is not plain YAML", "plain values")
        if isinstance(node, MappingNode):
            return self._mapping(node, name, depth)
        if isinstance(node, SequenceNode):
            return [self.build(n, f"{name}[{i}]", depth + 1) for i, n in enumerate(node.value)]
        return self._scalar(node, name, line)

    def _mapping(self, node: MappingNode, name: str, depth: int) -> dict[str, Tree]:
        tree: dict[str, Tree] = {}
        first: dict[str, int] = {}
        for key_node, value_node in node.value:
            line = key_node.start_mark.line + 1
            if not isinstance(key_node, ScalarNode):
                self._refuse(name, line, "a list or mapping stands for a name", "a plain name")
            key = str(key_node.value)
            field_name = f"{name}.{key}" if name else key
            if key in tree:
                self._refuse(
                    field_name,
                    line,
                    f"is written twice, first on line {first[key]}",
                    "each field once",
                )
            first[key] = line
            self.origin.lines.setdefault(field_name, line)
            tree[key] = self.build(value_node, field_name, depth + 1)
        return tree

    def _scalar(self, node: Node, name: str, line: int) -> Tree:
        text = str(node.value)
        self.origin.texts.setdefault(name, text)
        if str(node.tag).removeprefix(CORE) in ("timestamp", "value", "merge"):
            return text  # a date, say, is what its text says
        try:
            return self.scalars.construct_object(node)
        except (YAMLError, ValueError, OverflowError):
            self._refuse(name, line, "is not a plain value", "a text or a number", text)

    def _refuse(self, name: str, line: int, reason: str, allowed: str, value: str = "") -> Any:
        raise CaseError(self.origin.path, name, value, reason, allowed, line=line)
