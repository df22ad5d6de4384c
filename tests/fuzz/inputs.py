"""From a seed to an input: the files of one trial, the same on every machine."""

from __future__ import annotations

import copy
import random
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tests.fuzz import mutate, seeds, tables

KINDS = {"case": 0.6, "study": 0.25, "proof": 0.15}


@dataclass(frozen=True)
class Input:
    """One input.

    Attributes
    ----------
    seed : int
    kind : str
        ``case``, ``study`` or ``proof``.
    files : dict of str to bytes
        By name; the first is the one that is broken.
    """

    seed: int
    kind: str
    files: dict[str, bytes]

    def write(self, folder: Path) -> Path:
        """Write the files into a folder and give the path of the first."""
        for name, content in self.files.items():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_bytes(content)
        return folder / next(iter(self.files))


@cache
def _case_trees() -> list[seeds.Tree]:
    return seeds.case_trees()


@cache
def _weights() -> list[float]:
    """Give small trees more often: what is read in less time is broken more often."""
    return [1 / len(str(tree)) for tree in _case_trees()]


def full_case() -> seeds.Tree:
    """Plain data of the valid case with every field."""
    return next(tree for tree in _case_trees() if tree.get("gauges") and tree.get("flaws"))


def make(seed: int) -> Input:
    """Make the input of a seed."""
    draw = random.Random(seed)
    kind = draw.choices(list(KINDS), list(KINDS.values()))[0]
    if kind == "case":
        return Input(
            seed, kind, {"case.yaml": _broken(draw.choices(_case_trees(), _weights())[0], draw)}
        )
    if kind == "study":
        case = seeds.study_base()
        names = draw.sample(list(seeds.VARY), draw.choice((1, 2, 3, 5)))
        tree = seeds.study_tree(draw.choice(seeds.DO), "case.yaml", names)
        base = mutate.dump(case).encode()
        return Input(seed, kind, {"study.yaml": _broken(tree, draw), "case.yaml": base})
    name, text = draw.choice(
        (("strain.csv", seeds.strain_table()), ("acoustic.csv", seeds.emission_table()))
    )
    files = {name: mutate.encode(tables.spoil(text, draw), draw)}
    files.setdefault("strain.csv", seeds.strain_table().encode())
    return Input(seed, kind, files)


def _broken(tree: seeds.Tree, draw: random.Random) -> bytes:
    """Break a copy of a tree, mildly or not, and at times its text."""
    tree = copy.deepcopy(tree)
    depth = draw.random()
    for _ in range(draw.choice((1, 1, 2, 4))):
        try:
            (mutate.mild if depth < 0.5 else mutate.wrong)(tree, draw)
        except (TypeError, LookupError, ValueError, OverflowError, AttributeError):
            continue  # nothing there to change in that way
    text = mutate.dump(tree)
    if depth > 0.8:
        text = mutate.spoil(text, draw)
    return mutate.encode(text, draw)
