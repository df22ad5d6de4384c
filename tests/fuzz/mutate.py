"""Breaking valid inputs: their trees by the grammar of case and study files, then their text.

Three depths, so that every stage is reached:

- mild: lengths, moduli and the like within a factor of a few, other right names and forms, hostile
  words where any text is allowed: most are taken, and show whether what is taken is sound;
- wrong: a value of another type, unit, sign or size, a key lost, doubled, unknown or misspelt;
- text: what no tree holds: tags, anchors, aliases that double themselves, control characters,
  brackets without end, halves of files.
"""

from __future__ import annotations

import copy
import json
import math
import random
import re
from collections.abc import Callable, Iterator
from typing import Any

from tests.fuzz import words

Way = tuple[str | int, ...]
QUANTITY = re.compile(r"^([+-]?[\d.]+(?:e[+-]?\d+)?)\s*(\D.*)$", re.IGNORECASE)
PLAIN = re.compile(r"^[A-Za-z_][\w./*\[\]-]*( [\w./^%-]+)*$|^-?[\d.]+(e-?\d+)? [\w%/^]+$", re.ASCII)
NOT_TEXT = ("null", "true", "false", "yes", "no")
CHOICES: dict[str, tuple[str, ...]] = {
    "form": ("butt", "inner-lap", "outer-lap", "socket", "scarf", "hemisphere", "flat", "none"),
    "adhesive": ("epoxy-paste", "my-paste", "epoxy-film"),
    "material": ("titanium-6al-4v", "aluminium-6061-t6", "steel-316l", "epoxy-paste"),
    "ply": ("carbon-epoxy-im", "glass-epoxy-a", "my-tape", "titanium-6al-4v"),
    "bond": ("inner", "end", "outer", "scarf"),
    "face": ("wall", "ring", "middle", "outside", "inside"),
    "part": ("wall", "ring", "head"),
    "direction": ("hoop", "axial", "meridional"),
    "symmetry": ("isotropic", "transverse", "orthotropic"),
    "kind": ("ply", "adhesive", "metal", "plastic"),
    "on": ("adhesive", "wall", "ring", "head"),
    "modes": ("bonds", "all"),
}
# fields that take any text
FREE = ("title", "note", "description", "source", "reason", "evidence", "revision", "name")


def places(tree: Any, way: Way = ()) -> Iterator[Way]:
    """Yield the way to every value of a tree, mappings and lists among them."""
    if way:
        yield way
    entries = tree.items() if isinstance(tree, dict) else enumerate(tree)
    for key, value in entries if isinstance(tree, dict | list) else ():
        yield from places(value, (*way, key))


def at(tree: Any, way: Way) -> Any:
    """Give the value at the end of a way."""
    for key in way:
        tree = tree[key]
    return tree


def mild(tree: Any, draw: random.Random) -> None:
    """Change one value to another that the grammar allows."""
    ways = list(places(tree))
    way = draw.choice(ways)
    free = [w for w in ways if w[-1] in FREE]
    if free and draw.random() < 0.25:
        put(tree, draw.choice(free), draw.choice(words.HOSTILE))
        return
    value = at(tree, way)
    if isinstance(value, str) and way[-1] in CHOICES:
        put(tree, way, draw.choice(CHOICES[str(way[-1])]))
    elif isinstance(value, str) and (shape := QUANTITY.match(value)):
        factor = 10 ** draw.gauss(0, draw.choice((0.1, 0.3, 1)))
        put(tree, way, f"{float(shape[1]) * factor:.6g} {shape[2]}")
    elif isinstance(value, bool):
        put(tree, way, not value)
    elif isinstance(value, int):
        put(
            tree, way, max(0, round(value * draw.choice((0.5, 2, 3, 10)) + draw.choice((-1, 0, 1))))
        )
    elif isinstance(value, float):
        put(tree, way, value * draw.choice((-1, 0.5, 0.9, 1.1, 2)))
    elif isinstance(value, list) and value:
        put(tree, way, draw.choice((value * 2, value[:1], value[::-1], value * 50)))


def wrong(tree: Any, draw: random.Random) -> None:
    """Break one place."""
    way = draw.choice(list(places(tree)))
    draw.choice(WAYS_TO_BREAK)(tree, way, draw)


def put(tree: Any, way: Way, value: Any) -> None:
    """Set the value at the end of a way."""
    at(tree, way[:-1])[way[-1]] = value


def _scalar(tree: Any, way: Way, draw: random.Random) -> None:
    pool = draw.choice((words.NUMBERS, words.HOSTILE, words.NAMES, words.QUANTITIES))
    put(tree, way, draw.choice(pool))


def _quantity(tree: Any, way: Way, draw: random.Random) -> None:
    put(tree, way, f"{draw.choice(words.AMOUNTS)} {draw.choice(words.UNITS)}")


def _scaled(tree: Any, way: Way, draw: random.Random) -> None:
    value = at(tree, way)
    shape = QUANTITY.match(value) if isinstance(value, str) else None
    factor = draw.choice((-1.0, 0.0, 10 ** draw.uniform(-9, 9)))
    if shape:
        put(tree, way, f"{float(shape[1]) * factor!r} {shape[2]}")
    elif isinstance(value, int | float):
        number = value * factor
        put(tree, way, round(number) if isinstance(value, int) else number)


def _lose(tree: Any, way: Way, draw: random.Random) -> None:
    del at(tree, way[:-1])[way[-1]]


def _rename(tree: Any, way: Way, draw: random.Random) -> None:
    holder = at(tree, way[:-1])
    if isinstance(holder, dict):
        key = str(way[-1])
        i = draw.randrange(len(key) + 1)
        misspelt = key[:i] + draw.choice(("", "x", "_", ".", " ")) + key[i + 1 :]
        holder[draw.choice((misspelt, draw.choice(words.NAMES)))] = holder.pop(way[-1])


def _add(tree: Any, way: Way, draw: random.Random) -> None:
    holder, extra = at(tree, way[:-1]), draw.choice(words.NUMBERS)
    if isinstance(holder, dict):
        holder[draw.choice(words.NAMES)] = extra
    else:
        holder.append(extra)


def _graft(tree: Any, way: Way, draw: random.Random) -> None:
    """Put a copy of one part of the tree in the place of another."""
    put(tree, way, copy.deepcopy(at(tree, draw.choice(list(places(tree))))))


def _wrap(tree: Any, way: Way, draw: random.Random) -> None:
    value = at(tree, way)
    for _ in range(draw.choice((1, 2, 15, 30))):
        value = draw.choice(([value], {"value": value}))
    put(tree, way, value)


def _many(tree: Any, way: Way, draw: random.Random) -> None:
    """Make a list, a mapping or a text far longer."""
    value, count = at(tree, way), draw.choice((3, 30, 300, 3000))
    if isinstance(value, list):
        put(tree, way, value * count)
    elif isinstance(value, dict) and value:
        first = next(iter(value.values()))
        put(tree, way, value | {f"more-{i}": first for i in range(count)})
    elif isinstance(value, str):
        put(tree, way, value * count)
    elif isinstance(value, int):
        put(tree, way, value * 10 ** draw.randrange(1, 12))


def _empty(tree: Any, way: Way, draw: random.Random) -> None:
    put(tree, way, draw.choice(([], {}, "", None)))


WAYS_TO_BREAK: tuple[Callable[[Any, Way, random.Random], None], ...] = (
    *(_scalar, _scalar, _quantity, _quantity, _scaled, _scaled, _lose, _rename, _add),
    *(_graft, _wrap, _many, _empty),
)


def dump(tree: Any, indent: int = 0) -> str:
    """Write a tree as YAML, as a person would: texts without quotes where they need none."""
    blank = "  " * indent
    if isinstance(tree, dict) and tree and indent < 100:
        return "".join(f"{blank}{_scalar_text(k)}:{_entry(v, indent)}" for k, v in tree.items())
    if isinstance(tree, list) and tree and indent < 100 and isinstance(tree[0], dict | list):
        return "".join(f"{blank}-{_entry(v, indent)}" for v in tree)
    return f"{blank}{_scalar_text(tree)}\n"


def _entry(value: Any, indent: int) -> str:
    below = dump(value, indent + 1)
    return f" {below.lstrip(' ')}" if below.count("\n") == 1 and ": " not in below else f"\n{below}"


def _scalar_text(value: Any) -> str:
    if isinstance(value, str) and PLAIN.match(value) and value not in NOT_TEXT:
        return value
    if isinstance(value, float) and not math.isfinite(value):
        return {"nan": ".nan", "inf": ".inf", "-inf": "-.inf"}[repr(value)]
    if isinstance(value, list):
        return f"[{', '.join(map(_scalar_text, value))}]"
    if isinstance(value, dict):
        return f"{{{', '.join(f'{_scalar_text(k)}: {_scalar_text(v)}' for k, v in value.items())}}}"
    try:
        return json.dumps(value, ensure_ascii=False)
    except ValueError:  # a number of more digits than Python writes
        return "9" * 5000


def spoil(text: str, draw: random.Random) -> str:
    """Break the text of a YAML file."""
    return draw.choice(WAYS_TO_SPOIL)(text, draw)


def _tokens(text: str, draw: random.Random) -> str:
    for _ in range(draw.choice((1, 1, 2, 8))):
        i = draw.randrange(len(text) + 1)
        j = i + draw.choice((0, 0, 1, 3, 30))
        text = text[:i] + draw.choice((draw.choice(words.TOKENS), "")) + text[j:]
    return text


def _yaml_scalar(text: str, draw: random.Random) -> str:
    """Put a scalar of YAML's own in the place of a value."""
    values = list(re.finditer(r"(?<=: )\S.*$", text, re.MULTILINE))
    if not values:
        return text
    where = draw.choice(values)
    return text[: where.start()] + draw.choice(words.YAML_SCALARS) + text[where.end() :]


def _doubled(text: str, draw: random.Random) -> str:
    lines = text.splitlines(keepends=True)
    line = draw.choice(lines)
    lines.insert(draw.randrange(len(lines) + 1), line)
    return "".join(lines)


def _laughs(text: str, draw: random.Random) -> str:
    """Add aliases that double themselves."""
    kind = draw.choice(("list", "mapping", "merge"))
    rows = ["l0: &l0 [x, x]" if kind == "list" else "l0: &l0 {a: x, b: x}"]
    for i in range(1, 40):
        one = f"*l{i - 1} "
        row = {"list": f"[{one}, {one}]", "mapping": f"{{a: {one}, b: {one}}}"}
        rows.append(f"l{i}: &l{i} " + row.get(kind, f"{{<<: [{one}, {one}], c{i}: {one}}}"))
    return "\n".join(rows) + "\n" + text if draw.random() < 0.5 else text + "\n".join(rows) + "\n"


def _huge(text: str, draw: random.Random) -> str:
    filler = draw.choice(
        (
            "[" * 150_000,
            "{a: " * 40_000,
            "- " * 90_000,
            "a: " * 60_000,
            "'" + "x" * 190_000,
            "# " + "x" * 190_000 + "\n",
            "\n" * 190_000,
            " " * 190_000,
            "".join(f"k{i}: {i}\n" for i in range(14_000)),
            "[" + "1, " * 60_000 + "1]",
            "&a " * 60_000,
            "? " * 90_000,
            "!" * 190_000,
            "x" * 300_000,
            "\U0001f600" * 45_000,
            "%" * 100_000,
            "[1,]" * 40_000,
        )
    )
    return draw.choice((text + filler, filler + text, "note: " + filler, filler))


def _cut(text: str, draw: random.Random) -> str:
    i, j = sorted(draw.randrange(len(text) + 1) for _ in range(2))
    return draw.choice((text[:i], text[i:], text[:i] + text[j:], text + text, text * 20, ""))


def _ends(text: str, draw: random.Random) -> str:
    return draw.choice(
        (
            text.replace("\n", "\r\n"),
            text.replace("\n", "\r"),
            "\ufeff" + text,
            text.replace("  ", "\t"),
            "---\n" + text + "---\n" + text,
            "%YAML 1.1\n---\n" + text,
            "%YAML 9.9\n---\n" + text,
            text + "...\nmore: 1\n",
        )
    )


WAYS_TO_SPOIL: tuple[Callable[[str, random.Random], str], ...] = (
    *(_tokens, _tokens, _tokens, _yaml_scalar, _yaml_scalar, _yaml_scalar, _doubled),
    *(_laughs, _huge, _cut, _ends),
)


def encode(text: str, draw: random.Random) -> bytes:
    """Turn a text into bytes, at times not those of UTF-8."""
    data = text.encode("utf-8", "surrogatepass")
    if draw.random() < 0.02:
        data = text.encode(draw.choice(("utf-16", "utf-32", "latin-1")), "replace")
    if draw.random() < 0.02:
        i = draw.randrange(len(data) + 1)
        data = data[:i] + draw.randbytes(draw.choice((1, 4, 100))) + data[i:]
    return data
