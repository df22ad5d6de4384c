"""The section: the joint in the (r, z) half-plane as named faces and named edges.

Problem
    A wall of concentric layers, its bonds, the ring and the head, cut by a half-plane through the
    hull's axis. z = 0 is the hull's mid-length, z grows towards the joint; r is the radius.
Formulation
    Each form of joint lists the outlines of its faces (`geometry.forms`); `geometry.planar` makes
    of them one planar graph, in which every edge belongs to at most two faces. What a face is made
    of, which edges the sea touches, where the bondlines run: all by name.
Units
    mm throughout.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.layup import Layer

TOLERANCE = 1e-7  # mm: two points nearer than this are one
Point = tuple[float, float]


@dataclass(frozen=True)
class Outline:
    """The outline of one face as a form of joint lists it.

    Attributes
    ----------
    region : str
        Name of the region the face belongs to.
    corners : tuple of (r, z)
        In order around the face, either way round.
    arcs : dict of int to (r, z)
        Centre of the arc that leaves corner i; the other sides are straight. Arcs are
        shorter than half a turn.
    """

    region: str
    corners: tuple[Point, ...]
    arcs: tuple[tuple[int, Point], ...] = ()


@dataclass(frozen=True)
class Region:
    """A part of the section with one material.

    Attributes
    ----------
    name : str
        For instance ``wall-1``, ``bond-inner``, ``corner-inner``, ``fillet-outer``, ``ring``.
    part : str
        ``wall``, ``adhesive``, ``ring`` or ``head``.
    material : str
        Name of the wall's layer, or of the material card.
    """

    name: str
    part: str
    material: str


@dataclass(frozen=True)
class Edge:
    """A straight line, or an arc when it has a centre, between two points of the section."""

    start: int
    end: int
    centre: Point | None = None


@dataclass(frozen=True)
class Face:
    """A face bounded by edges.

    Attributes
    ----------
    region : str
    loop : tuple of int
        Edges in order, 1-based, negative where run backwards; counter-clockwise in (r, z).
    sides : tuple of tuple of int, or empty
        The four sides (each a run of `loop`) of a face that can be meshed row by row.
    """

    region: str
    loop: tuple[int, ...]
    sides: tuple[tuple[int, ...], ...] = ()


@dataclass(frozen=True)
class BondLine:
    """The mid-thickness line of a bond and its two faces.

    s runs along the line from the open edge (the tip of the ring's lip or tongue; the bore for
    an end bond whose inner edge is open, else its outer edge; a socket's end bond has no open
    edge and runs from the bore side outwards).

    Attributes
    ----------
    name : str
        ``inner``, ``end``, ``outer`` or ``scarf``.
    start : (r, z)
        Mid-thickness point at s = 0.
    along, across : (r, z)
        Unit vectors: growing s, and from the wall to the ring.
    length, thickness : float
        Nominal, mm.
    chamfer : tuple of (float, float)
        Wall edge chamfers as (s where it begins, +1 or -1 the way in which the wall recedes).
    root : tuple of (float, float, float)
        Groove root radii as (s where the arc begins, +1 or -1, radius).
    region : str
        Name of the bond's own region; corners and fillets are regions of their own.
    """

    name: str
    start: Point
    along: Point
    across: Point
    length: float
    thickness: float
    chamfer: tuple[tuple[float, float], ...] = ()
    root: tuple[tuple[float, float, float], ...] = ()

    @property
    def region(self) -> str:
        """Name of the bond's own region."""
        return f"bond-{self.name}"

    def faces(
        self, s: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Points on the wall's face, at mid-thickness and on the ring's face.

        Parameters
        ----------
        s : (n,) array
            Distance from the open edge, mm.

        Returns
        -------
        wall, mid, ring : (2, n) arrays of (r, z)
            The mid point is half way between the faces at that s, also where a chamfer or a
            root radius changes the bond's thickness.
        """
        s = np.asarray(s, float)
        wall = np.full_like(s, -self.thickness / 2)
        ring = np.full_like(s, self.thickness / 2)
        for begin, way in self.chamfer:
            wall -= np.maximum(way * (s - begin), 0.0)
        for begin, way, radius in self.root:
            depth = np.clip(way * (s - begin), 0.0, radius)
            ring -= radius - np.sqrt(radius**2 - depth**2)
        base = np.asarray(self.start)[:, None] + np.outer(self.along, s)
        normal = np.asarray(self.across)[:, None]
        return base + normal * wall, base + normal * (wall + ring) / 2, base + normal * ring


@dataclass(frozen=True)
class Section:
    """The whole section.

    Attributes
    ----------
    points : (n, 2) array of (r, z)
    edges : tuple of Edge
    faces : tuple of Face
    regions : dict of str to Region
    layers : dict of str to Layer
        The wall's layers by name.
    bonds : tuple of BondLine
    named : dict of str to tuple of int
        Edges (0-based) by name: ``wet``, ``dry``, ``symmetry``, ``axis``, ``closure`` (the ring's
        end face that carries the end-cap load where there is no head), and each interface
        between parts as ``bond-inner|wall``, ``ring|head`` and so on.
    outer_radius : float
        Wet radius at mid-length: the axial load there is p * pi * outer_radius**2.
    """

    points: NDArray[np.float64]
    edges: tuple[Edge, ...]
    faces: tuple[Face, ...]
    regions: dict[str, Region]
    layers: dict[str, Layer]
    bonds: tuple[BondLine, ...]
    named: dict[str, tuple[int, ...]]
    outer_radius: float

    def bond(self, name: str) -> BondLine:
        """Return the bondline of that name."""
        return next(bond for bond in self.bonds if bond.name == name)

    def edge_points(self, edge: Edge, t: NDArray[np.float64]) -> NDArray[np.float64]:
        """Points of an edge at the fractions `t` of its length, shape (len(t), 2)."""
        a, b = self.points[edge.start], self.points[edge.end]
        t = np.asarray(t, float)[:, None]
        if edge.centre is None:
            return np.asarray(a + t * (b - a))
        centre = np.asarray(edge.centre)
        radius = np.hypot(*(a - centre))
        first = np.arctan2(*(a - centre)[::-1])
        turn = (np.arctan2(*(b - centre)[::-1]) - first + np.pi) % (2 * np.pi) - np.pi
        angle = first + t * turn
        return np.asarray(centre + radius * np.hstack([np.cos(angle), np.sin(angle)]))

    def edge_length(self, edge: Edge) -> float:
        """Length of an edge, mm."""
        chord = float(np.hypot(*(self.points[edge.end] - self.points[edge.start])))
        if edge.centre is None:
            return chord
        radius = float(np.hypot(*(self.points[edge.start] - np.asarray(edge.centre))))
        return 2 * radius * float(np.arcsin(min(1.0, chord / (2 * radius))))
