"""Faces of bonds that may come off, and the joint reduced to what happens between them.

Problem
    A disbond is a stretch of a path: a straight row of element sides along a face of a bond or its
    mid-thickness, across which the displacement may jump. How do energy and jump of any disbond
    follow from one factorisation of the sound joint?
Formulation
    u on the far side = u on the near side + d. With the joint's other displacements eliminated the
    energy of a jump is d'Sd / 2 - (loads . g + pressure . flood)'d: S is the stiffness that the
    joint opposes to the jump, g the nodal forces that the sound bond carries. A disbond D keeps the
    rows and columns of the nodes inside it; everything else is dense and small.
    d is given by Bernstein coefficients of the elements' degree, in the path's own directions:
    [normal, shear] or [normal, shear, twist] at every node. Its normal coefficients are not
    negative where faces do not pass through each other, hence neither is the jump anywhere between
    the nodes.
Frame and units
    s along the bond from its open edge, negative under a fillet; normal points from the wall to the
    ring; mm, N, MPa, K; forces are those of the whole circumference.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Path:
    """A face along which a bond may come off.

    Attributes
    ----------
    bond, face : str
        ``inner`` and ``wall``, for instance.
    s, r, z : (n,) arrays
        Corners of elements along it, mm.
    along, across : (r, z)
        Unit vectors of growing s and of the normal, from near to far side.
    open_ends, wet_ends : (bool, bool)
        Whether its first and its last corner lie on the joint's surface, and there in the sea.
    thickness, length : float
        Of the bond, mm; what lies under fillets is not part of its length.
    """

    bond: str
    face: str
    s: Floats
    r: Floats
    z: Floats
    along: tuple[float, float]
    across: tuple[float, float]
    open_ends: tuple[bool, bool]
    wet_ends: tuple[bool, bool]
    thickness: float
    length: float

    @property
    def elements(self) -> int:
        """Number of elements along it."""
        return len(self.s) - 1

    @property
    def areas(self) -> Floats:
        """Area of each element of the path around the whole circumference, (n - 1,) mm^2."""
        mean = (self.r[1:] + self.r[:-1]) / 2
        return np.asarray(2 * np.pi * mean * np.diff(self.s))

    def size(self, first: int, last: int) -> float:
        """Length of the bond between two corners, mm; all of it up to an open end."""
        start = 0.0 if first == 0 and self.open_ends[0] else float(self.s[first])
        at_end = last == self.elements and self.open_ends[1]
        return (self.length if at_end else float(self.s[last])) - start

    def corner(self, s: float) -> int:
        """Give the number of the corner nearest to a place."""
        return int(np.argmin(np.abs(self.s - s)))


@dataclass(frozen=True)
class Stretch:
    """A disbond: from corner to corner of one path.

    Attributes
    ----------
    path : int
    first, last : int
        Corners.
    flooded : bool
        Whether the sea presses on its faces.
    """

    path: int
    first: int
    last: int
    flooded: bool = False


@dataclass(frozen=True)
class Reduced:
    """The joint as its paths see it.

    Attributes
    ----------
    paths : tuple of Path
    degree, components : int
        Of the jump.
    stiffness : (m, m) array, N/mm
    load : dict of str to (m,) array
        g of ``pressure`` (per MPa) and ``temperature`` (per K), N.
    flood : (m,) array
        Forces of 1 MPa on the faces, pushing them apart, N.
    """

    paths: tuple[Path, ...]
    degree: int
    components: int
    stiffness: Floats
    load: dict[str, Floats]

    @property
    def starts(self) -> Ints:
        """First unknown of each path, and the number of unknowns at the end, (paths + 1,)."""
        nodes = [self.degree * path.elements + 1 for path in self.paths]
        return np.concatenate([[0], np.cumsum(nodes) * self.components]).astype(np.int64)

    def unknowns(self, stretch: Stretch) -> Ints:
        """Unknowns of the nodes that may jump, node by node: tips do not, open ends do."""
        path = self.paths[stretch.path]
        first, last = self.degree * stretch.first, self.degree * stretch.last
        open_first = stretch.first == 0 and path.open_ends[0]
        open_last = stretch.last == path.elements and path.open_ends[1]
        nodes = np.arange(first + (not open_first), last + open_last)
        if stretch.last <= stretch.first:
            nodes = nodes[:0]
        start = self.starts[stretch.path]
        at = start + self.components * nodes[:, None] + np.arange(self.components)
        return np.asarray(at.ravel(), np.int64)

    def elements(self, stretch: Stretch) -> Ints:
        """Unknowns of all nodes of each element, (elements, nodes, components)."""
        number = np.arange(stretch.first, stretch.last)
        nodes = self.degree * number[:, None] + np.arange(self.degree + 1)
        start = self.starts[stretch.path]
        return np.asarray(start + self.components * nodes[..., None] + np.arange(self.components))

    def normal(self, unknowns: Ints) -> Bools:
        """Which unknowns are normal to the path."""
        return np.asarray(unknowns % self.components == 0)

    def pull(self, loads: dict[str, float], stretches: Sequence[Stretch], unknowns: Ints) -> Floats:
        """Add up what pulls unknowns apart, with the sea in flooded stretches, N.

        Parameters
        ----------
        loads : dict of str to float
            MPa of ``pressure``, K of ``temperature``.
        stretches : sequence of Stretch
        unknowns : int array
        """
        total = sum((w * self.load[name] for name, w in loads.items()), np.zeros(self.starts[-1]))
        wet = np.zeros_like(total)
        for stretch in stretches:
            if stretch.flooded:
                np.add.at(wet, *self._flooding(stretch))
        return np.asarray((total + loads.get("pressure", 0.0) * wet)[unknowns])

    def _flooding(self, stretch: Stretch) -> tuple[Ints, Floats]:
        """Unknowns and forces of 1 MPa on the elements of a stretch."""
        path = self.paths[stretch.path]
        at = self.elements(stretch)[:, :, 0]
        values = flooding(path, self.degree)[stretch.first : stretch.last]
        return at.ravel(), values.ravel()

    def only(self, *paths: int) -> Reduced:
        """Leave some of the paths, in the order given."""
        starts = self.starts
        kept = np.concatenate([np.arange(starts[p], starts[p + 1]) for p in paths])
        return Reduced(
            tuple(self.paths[p] for p in paths),
            self.degree,
            self.components,
            self.stiffness[np.ix_(kept, kept)],
            {name: force[kept] for name, force in self.load.items()},
        )

    def find(self, bond: str, face: str) -> int:
        """Give the number of a path."""
        return next(i for i, p in enumerate(self.paths) if (p.bond, p.face) == (bond, face))


def bernstein(degree: int, t: Floats) -> Floats:
    """Bernstein polynomials of a degree at places 0 to 1 of an element, (degree + 1, q)."""
    choose = [1.0]
    for k in range(degree):
        choose.append(choose[-1] * (degree - k) / (k + 1))
    return np.stack([c * t**k * (1 - t) ** (degree - k) for k, c in enumerate(choose)])


def node_values(degree: int, elements: int) -> Floats:
    """Matrix from coefficients to values at equally spaced nodes, for a row of elements."""
    own = bernstein(degree, np.linspace(0, 1, degree + 1)).T
    result = np.zeros((degree * elements + 1, degree * elements + 1))
    for e in range(elements):
        rows = slice(degree * e, degree * (e + 1) + 1)
        result[rows, rows] = own
    return result


def flooding(path: Path, degree: int) -> Floats:
    """Integrate 1 MPa on each element against its normal coefficients, (n - 1, degree + 1) N."""
    x, w = np.polynomial.legendre.leggauss(degree + 2)
    t, w = (x + 1) / 2, w / 2
    basis = bernstein(degree, t)
    radius = path.r[:-1, None] + np.diff(path.r)[:, None] * t
    return np.asarray((2 * np.pi * radius * np.diff(path.s)[:, None] * w) @ basis.T)
