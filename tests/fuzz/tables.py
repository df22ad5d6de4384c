"""Breaking the tables of a proof test."""

from __future__ import annotations

import random
from collections.abc import Callable

from tests.fuzz import words

LONGEST = 1_000_000  # characters of a table whose rows are repeated
FIELDS = (
    *("", "nan", "inf", "-inf", "1e400", "-1e308", "1e308", "1e-320", "1_0", "0x1", "x", "1 2"),
    *("--1", "\u0661", "'1'", '"1', '"1,2"', "1;2", "=1+1", "[", "]", "#", "-5", "1e30", "0"),
    *("pressure", "time", "\x00", "\x85", "\u2028", "9" * 400, "x" * 140_000),
)
HEADS = (
    *("pressure", "pressure [MPa]", "pressure [furlong]", "pressure []", "pressure [[MPa]]"),
    *("pressure [bar]", "pressure [psi", "time [s]", "hits", "dive", "pole [%]", "pole [m/m]"),
    *("hull-hoop", "hull-hop [microstrain]", f"<{words.TAG} {words.MARK}=1> [microstrain]", "[]"),
    *("{{1234567*7}} [microstrain]", "../x [microstrain]", "x" * 5000, "", " "),
)


def spoil(text: str, draw: random.Random) -> str:
    """Break a table in one or more ways."""
    for _ in range(draw.choice((0, 1, 1, 2, 4))):
        text = draw.choice(WAYS)(text, draw)
    return text


def _cell(text: str, draw: random.Random, pool: tuple[str, ...] = FIELDS) -> str:
    lines = text.splitlines()
    i = draw.randrange(len(lines)) if lines else 0
    fields = lines[i].split(",") if lines else [""]
    fields[draw.randrange(len(fields))] = draw.choice(pool)
    return "\n".join([*lines[:i], ",".join(fields), *lines[i + 1 :]]) + "\n"


def _head(text: str, draw: random.Random) -> str:
    lines = text.splitlines()
    i = next((i for i, line in enumerate(lines) if line[:1] not in ("#", "")), 0)
    first = _cell(lines[i], draw, HEADS) if lines else draw.choice(HEADS)
    return "\n".join([*lines[:i], first.strip("\n"), *lines[i + 1 :]]) + "\n"


def _lines(text: str, draw: random.Random) -> str:
    lines = text.splitlines()
    i, j = (draw.randrange(len(lines) + 1) for _ in range(2))
    return "\n".join(draw.choice((lines[i:], lines[:j], lines[:i] + lines[j:], lines[::-1], [])))


def _rows(text: str, draw: random.Random) -> str:
    """Repeat the rows very often: a long test, or a table without end."""
    head, _, rows = text.partition("\n")
    times = draw.choice((2, 50, 2_000))
    return head + "\n" + rows * min(times, 1 + LONGEST // (len(rows) + 1))


def _columns(text: str, draw: random.Random) -> str:
    more = draw.choice((1, 3, 300))
    lines = text.splitlines()
    names = draw.choice((lambda i: f"c{i} [microstrain]", lambda i: "pole [microstrain]"))
    wide = [
        f"{line}, " + ", ".join(names(i) if "[" in line else "1" for i in range(more))
        for line in lines
    ]
    return "\n".join(wide) + "\n"


def _note(text: str, draw: random.Random) -> str:
    return f"# {draw.choice(words.HOSTILE)}\n{text}"


def _numbers(text: str, draw: random.Random) -> str:
    """Turn, shift or scale every number."""
    rows = []
    for line in text.splitlines():
        try:
            numbers = [float(field) for field in line.split(",")]
        except ValueError:
            rows.append(line)
            continue
        way = draw.choice((lambda x: -x, lambda x: 0.0, lambda x: x * 1e200, lambda x: 33.0))
        rows.append(", ".join(f"{way(x)!r}" for x in numbers))
    return "\n".join(rows) + "\n"


def _tokens(text: str, draw: random.Random) -> str:
    i = draw.randrange(len(text) + 1)
    return text[:i] + draw.choice(words.TOKENS) + text[i + draw.choice((0, 1, 5)) :]


WAYS: tuple[Callable[[str, random.Random], str], ...] = (
    *(_cell, _cell, _cell, _head, _head, _lines, _rows, _columns, _note, _numbers, _tokens),
)
