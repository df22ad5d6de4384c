"""Mutants of a module: small changes by the operators of cosmic-ray, a random sample of them.

A place of the text is drawn first and then one of the changes that fit there, so that an operator
with ten replacements does not count ten times. Left out is what cannot change a number: type
annotations, docstrings, and how a class is decorated.
"""

from __future__ import annotations

import ast
import difflib
import random
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code
from cosmic_ray.plugins import get_operator, operator_names


@dataclass(frozen=True)
class Mutant:
    """A changed text: which operator, the line's number, the line before and after."""

    operator: str
    line: int
    before: str
    after: str
    text: str


def sample(text: str, wanted: int, seed: str) -> list[Mutant]:
    """Draw mutants of a module's text, each at a place of its own."""
    draw = random.Random(seed)  # noqa: S311
    places = _places(text)
    order = sorted(places)
    draw.shuffle(order)
    same = _meaning(text)
    found: list[Mutant] = []
    for place in order:
        if len(found) == wanted:
            break
        name, occurrence = draw.choice(places[place])
        changed = mutate_code(text, get_operator(name)(), occurrence)
        if changed is not None and _meaning(changed) not in (same, None):
            found.append(_mutant(name, text, changed))
    return sorted(found, key=lambda mutant: mutant.line)


def _places(text: str) -> dict[tuple[int, int], list[tuple[str, int]]]:
    """Give the changes (operator, occurrence) that fit at each place (line, column)."""
    nodes = list(ast_nodes(get_ast(text)))
    places = defaultdict(list)
    for name in operator_names():
        operator = get_operator(name)
        if operator.arguments():
            continue
        for occurrence, place in enumerate(_positions(operator(), nodes)):
            places[place].append((name, occurrence))
    return places


def _positions(operator: object, nodes: list[object]) -> Iterator[tuple[int, int]]:
    for node in nodes:
        for start, _ in operator.mutation_positions(node):
            yield start


def _meaning(text: str) -> str | None:
    """Give what a text computes: its tree without what changes no number; None if it is no code."""
    try:
        tree = ast.parse(text)
    except SyntaxError:
        return None
    for node in ast.walk(tree):
        match node:
            case ast.ClassDef():
                node.decorator_list = []
            case ast.AnnAssign():
                node.annotation = ast.Constant(None)
            case ast.arg():
                node.annotation = None
            case ast.FunctionDef():
                node.returns = None
    return ast.dump(tree)


def _mutant(name: str, text: str, changed: str) -> Mutant:
    old, new = text.splitlines(), changed.splitlines()
    for _, a, b, c, d in difflib.SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if old[a:b] != new[c:d]:
            before = " ".join(line.strip() for line in old[a:b])
            after = " ".join(line.strip() for line in new[c:d])
            return Mutant(name.removeprefix("core/"), a + 1, before, after, changed)
    raise AssertionError("the texts do not differ")
