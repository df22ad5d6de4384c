"""Energy release rate at the tips of disbonds, and its modes.

Formulation
    Energy(D) is the least energy of `solve.contact` over the jumps of all disbonds D that are
    there. At a tip G = -d Energy / d area, the derivative of the polynomial through the energies
    of the disbond as it is and some elements shorter and longer; fewer where the path ends or the
    disbond is short. As elements along a path are alike, what the mesh gets wrong of the energy
    cancels in the differences, but for one thing: a disbond of the mesh acts as if it were a share
    of an element shorter (`SHIFT`), for its tip is less sharp than a true one. Two degrees on one
    mesh tell how much that is, and `Pair` draws G to elements of no length.
    Modes: the forces that hold the next element shut times its opening once it is free, half their
    product, component by component: with linear faces they add up to the same energy (two-step
    closure, E.F. Rybicki & M.F. Kanninen, Eng. Fract. Mech. 9 (1977) 931-938). Only their shares
    are used, on G. At an interface of two materials they depend on the length over which they are
    taken; that length is stated with them.
Symbols
    G N/mm; modes I opens, II shears in the section, III shears around the hull.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from solve.contact import Contact, least_energy
from solve.disbond import Ints, Reduced, Stretch, bernstein

Floats = NDArray[np.float64]
Loads = dict[str, float]

CLOSURE = 0.25  # of the bond's thickness: least length over which modes are told apart
WIDTH = 2  # elements to either side of a tip for the derivative of the energy
SHIFT = {2: 0.24, 3: 0.12}  # of an element at the tip, by degree: measured on the penny crack
BEYOND = SHIFT[3] / (SHIFT[2] - SHIFT[3])  # of the way from degree 2 to 3
CHECKED = 9  # places in an element at which faces are checked for passing through each other


@dataclass(frozen=True)
class TipEnergy:
    """Energy release rate at a tip, N/mm.

    Attributes
    ----------
    G, G_I, G_II, G_III : float
    length : float
        Over which the modes are told apart, mm.
    """

    G: float
    G_I: float
    G_II: float
    G_III: float
    length: float

    @property
    def shear_share(self) -> float:
        """(G_II + G_III) / G; 0 where there is no G."""
        if not self.G > 0:
            return 0.0
        return float(min(max((self.G_II + self.G_III) / self.G, 0.0), 1.0))


class Disbonded:
    """A joint with disbonds under some loads; what was solved once is kept.

    Parameters
    ----------
    reduced : Reduced
    loads : dict of str to float
        MPa of ``pressure``, K of ``temperature``.
    """

    def __init__(self, reduced: Reduced, loads: Loads) -> None:
        self.reduced, self.loads = reduced, loads
        self._kept: dict[tuple[Stretch, ...], tuple[Ints, Contact]] = {}
        self._closed = np.ones(reduced.starts[-1], bool)  # as seen last: the next guess
        self._guessed = False

    def solve(self, stretches: Sequence[Stretch]) -> tuple[Ints, Contact]:
        """Unknowns inside the disbonds and their jump of least energy."""
        key = tuple(stretches)
        if key not in self._kept:
            reduced = self.reduced
            at = np.concatenate([np.zeros(0, np.int64), *(reduced.unknowns(s) for s in key)])
            found = least_energy(
                reduced.stiffness[np.ix_(at, at)],
                reduced.pull(self.loads, key, at),
                reduced.normal(at),
                self._closed[at] if self._guessed else None,
            )
            self._closed[at], self._guessed = found.closed, True
            self._kept[key] = at, found
        return self._kept[key]

    def energy(self, stretches: Sequence[Stretch]) -> float:
        """Least energy of the jumps, N mm; nought without disbonds."""
        return self.solve(stretches)[1].energy

    def jump(self, stretches: Sequence[Stretch]) -> Floats:
        """Coefficients of the jump of all paths, (m,) mm."""
        at, found = self.solve(stretches)
        result = np.zeros(self.reduced.starts[-1])
        result[at] = found.jump
        return result

    def total(
        self, stretches: Sequence[Stretch], number: int, direction: int, width: int = WIDTH
    ) -> float:
        """Total energy release rate at one end of a disbond, N/mm.

        Parameters
        ----------
        stretches : sequence of Stretch
        number : int
            Of the disbond whose end it is.
        direction : int
            +1 for its last end, -1 for its first.
        width : int
            Elements to either side that the derivative rests on, where there are as many.
        """
        own = stretches[number]
        steps = np.arange(-width, width + 1)
        steps = steps[
            (steps >= own.first - own.last) & (steps <= self.room(stretches, number, direction))
        ]
        energies, places = [], []
        area = np.concatenate([[0.0], np.cumsum(self.reduced.paths[own.path].areas)])
        scale = area[-1] / (len(area) - 1)
        for step in steps:
            tried = list(stretches)
            tried[number] = moved(own, direction, int(step))
            tip = tried[number].last if direction > 0 else tried[number].first
            here = own.last if direction > 0 else own.first
            energies.append(self.energy(tried))
            places.append(direction * (area[tip] - area[here]) / scale)
        return float(-_slope(np.array(places)) @ np.array(energies) / scale)

    def tip(self, stretches: Sequence[Stretch], number: int, direction: int) -> TipEnergy:
        """Energy release rate at one end of a disbond with its modes; arguments of `total`."""
        G = self.total(stretches, number, direction)
        closed, _, length = self.closure(stretches, number, direction)
        kinds = np.maximum(closed, 0.0)
        total = float(kinds.sum())
        shares = kinds / total if total > 0 else np.array([0.0, 1.0, 0.0])
        opening, shearing, turning = (float(G * share) for share in shares)
        return TipEnergy(G, opening, shearing, turning, length)

    def room(self, stretches: Sequence[Stretch], number: int, direction: int) -> int:
        """Count the elements by which an end may move on: to the path's end or a next disbond."""
        own = stretches[number]
        others = [s for i, s in enumerate(stretches) if i != number and s.path == own.path]
        if direction > 0:
            ends = [s.first - 1 for s in others if s.first >= own.last]
            return min([self.reduced.paths[own.path].elements, *ends]) - own.last
        return own.first - max([0, *(s.last + 1 for s in others if s.last <= own.first)])

    def closure(
        self, stretches: Sequence[Stretch], number: int, direction: int
    ) -> tuple[Floats, float, float]:
        """Close the next elements again: work by opening, shear and twist.

        Returns
        -------
        work : (3,) array
            N mm.
        area : float
            mm^2.
        length : float
            mm.
        """
        reduced = self.reduced
        path = reduced.paths[stretches[number].path]
        own, room = stretches[number], self.room(stretches, number, direction)
        here = own.last if direction > 0 else own.first
        opened, closed = list(stretches), list(stretches)
        step = 0
        least = CLOSURE * path.thickness * (1 - 1e-9)
        while step < room and _gone(path.s, here, direction * step) < least:
            step += 1
        if step:
            opened[number] = moved(own, direction, step)
        else:  # at the path's end: look back
            step = -1
            closed[number] = moved(own, direction, step)
        length = _gone(path.s, here, direction * step)
        at, after = self.solve(opened)
        before = self.jump(closed)
        force = reduced.pull(self.loads, opened, at) - reduced.stiffness[at] @ before
        work = force * (after.jump - before[at]) / 2
        kinds = np.zeros(3)
        for kind in range(reduced.components):
            kinds[kind] = work[at % reduced.components == kind].sum()
        passed = slice(*sorted((here, here + direction * step)))
        return kinds, float(path.areas[passed].sum()), length


class Pair(Disbonded):
    """A joint with disbonds on cubic and on quadratic elements, G drawn to elements of no length.

    Jumps, contact and the shares of modes are those of the cubic elements.

    Parameters
    ----------
    reduced, companion : Reduced
        On one mesh, of degree 3 and 2.
    loads : dict of str to float
    """

    def __init__(self, reduced: Reduced, companion: Reduced, loads: Loads) -> None:
        if (reduced.degree, companion.degree) != (3, 2):
            raise ValueError("a pair is of degree 3 and 2")
        super().__init__(reduced, loads)
        self._companion = Disbonded(companion, loads)

    def total(
        self, stretches: Sequence[Stretch], number: int, direction: int, width: int = WIDTH
    ) -> float:
        """As `Disbonded.total`."""
        fine = super().total(stretches, number, direction, width)
        coarse = self._companion.total(stretches, number, direction, width)
        return fine + BEYOND * (fine - coarse)


def moved(stretch: Stretch, direction: int, step: int) -> Stretch:
    """Move one end of a disbond outwards by elements."""
    if direction > 0:
        return replace(stretch, last=stretch.last + step)
    return replace(stretch, first=stretch.first - step)


def _gone(s: Floats, corner: int, step: int) -> float:
    """Length of a number of elements from a corner."""
    return abs(float(s[corner + step] - s[corner]))


def _slope(places: Floats) -> Floats:
    """Weights of values at places for the derivative at nought, exact for polynomials."""
    powers = np.vander(places, increasing=True).T
    return np.asarray(np.linalg.solve(powers, np.eye(len(places))[1]))


def faces_apart(reduced: Reduced, jump: Floats, stretch: Stretch) -> Floats:
    """Read the gap between the faces at places along a disbond, (elements, places) mm."""
    at = reduced.elements(stretch)[:, :, 0]
    return np.asarray(jump[at] @ bernstein(reduced.degree, np.linspace(0, 1, CHECKED)))
