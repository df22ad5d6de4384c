"""The case: a hull wall, its bonded joint, ring and head, and the duty they must bear.

A case file is YAML in which every quantity is a number with its unit; `read_case` makes of it
the frozen models below. Inside, lengths are mm, pressures MPa, temperatures K, angles degrees,
shares fractions of 1; only the sea's depth is in m.

Frame
    Section plane (r, z): z = 0 is the hull's mid-length, z grows towards the joint. Ply angles
    are counted from the hull's axis, 90 degrees is the hoop.
"""

from __future__ import annotations

import os
from typing import Annotated, Any, Literal

from pydantic import (
    Field,
    PrivateAttr,
    ValidationError,
    ValidationInfo,
    field_validator,
    model_validator,
)

from geometry import bounds
from geometry.bonding import Bonding
from geometry.case_checks import BONDS, check, used_materials
from geometry.case_file import Origin, Tree, read_yaml, write_yaml
from geometry.errors import case_error
from geometry.fields import Name, Part, Prose, Text
from geometry.gauges import Gauges, Proof, check_gauges, name_gauges
from geometry.materials import Card, cards_in, library
from geometry.units import Quantity

Count = Annotated[int, Field(strict=True)]
Angle = Annotated[float, Field(strict=True, ge=-180, le=180)]
Form = Literal["butt", "inner-lap", "outer-lap", "socket", "scarf"]
BondGap = Annotated[float, Quantity("length", "0.02 mm", "10 mm", "1.0 mm")]
Overlapping = Annotated[float, Quantity("length", "1 mm", "5 m", "40 mm")]
LipHeight = Annotated[float, Quantity("length", "0 mm", "500 mm", "12 mm")]
Temperature = Annotated[float, Quantity("temperature", "-100 degC", "300 degC", "20 degC")]


class Dives(Part):
    """Dives to one depth."""

    depth: Annotated[float, Quantity("sea depth", "1 m", "11000 m")]
    """Sea depth of these dives, such as 2000 m."""
    count: Annotated[Count, Field(ge=1, le=bounds.DIVES)]
    """How many."""


class Duty(Part):
    """What the hull must bear."""

    depth: Annotated[float, Quantity("sea depth", "1 m", "11000 m")] | None = None
    """Sea depth, such as 3000 m; or pressure in its place."""
    pressure: Annotated[float, Quantity("pressure", "0.001 MPa", "200 MPa", "30.6 MPa")] | None = (
        None
    )
    """Gauge pressure of the sea, such as 30.6 MPa; or depth in its place."""
    latitude: Annotated[float, Quantity("angle", "-90 deg", "90 deg", "45 deg")] = 45.0
    """Latitude of the dive, such as 45 deg: gravity, hence pressure, depends on it."""
    required_ratio: Annotated[float, Field(strict=True, ge=1, le=20)] = 1.5
    """First-failure depth over duty depth that is asked for, such as 1.5."""
    stress_free_temperature: Temperature
    """Temperature at which bond and wall are free of stress, such as 60 degC."""
    service_temperature: Temperature
    """Temperature at depth, such as 2 degC."""
    dives: Annotated[Count, Field(ge=1, le=bounds.DIVES)] | None = None
    """Number of dives to the duty depth; or dive_list in its place."""
    dive_list: Annotated[tuple[Dives, ...], Field(max_length=bounds.DIVE_LIST)] = ()
    """Dives by depth, such as [{depth: 2000 m, count: 300}, {depth: 3000 m, count: 200}]."""


class Block(Part):
    """A stack of plies of one kind, repeated."""

    ply: Name
    """Name of the ply's material card."""
    thickness: Annotated[float, Quantity("length", "0.005 mm", "500 mm", "0.19 mm")]
    """Thickness of one cured ply, such as 0.19 mm."""
    angles: Annotated[tuple[Angle, ...], Field(min_length=1, max_length=bounds.ANGLES)]
    """Angles from the hull axis in degrees, bore outwards, such as [90, 90, 0]."""
    repeats: Annotated[Count, Field(ge=1, le=bounds.REPEATS)] = 1
    """How often these plies are stacked."""


class ResolvePlies(Part):
    """How many plies are meshed one by one."""

    innermost: Annotated[Count, Field(ge=0, le=bounds.RESOLVED_PLIES)] = 0
    """Plies from the bore outwards."""
    outermost: Annotated[Count, Field(ge=0, le=bounds.RESOLVED_PLIES)] = 0
    """Plies from the outside inwards."""


class Wall(Part):
    """The composite wall, from mid-length to its end face."""

    bore_radius: Annotated[float, Quantity("length", "5 mm", "5 m", "150 mm")]
    """Inner radius of the wall, such as 150 mm."""
    half_length: Annotated[float, Quantity("length", "5 mm", "50 m", "300 mm")]
    """Mid-length to the wall's end face, such as 300 mm."""
    layup: Annotated[tuple[Block, ...], Field(min_length=1, max_length=bounds.BLOCKS)]
    """Blocks of plies, bore outwards."""
    resolve_plies: ResolvePlies = ResolvePlies()
    """Plies that are meshed one by one."""
    edge_chamfer: Annotated[float, Quantity("length", "0 mm", "100 mm", "0.5 mm")] = 0.0
    """Chamfer of the wall's end edges where a bond turns the corner; 0 is a sharp edge."""
    waviness: Annotated[float, Quantity("angle", "0 deg", "15 deg", "1 deg")] | None = None
    """Fibre misalignment, such as 1 deg."""
    voids: Annotated[float, Quantity("share", "0 %", "30 %", "1 %")] | None = None
    """Share of voids in the wall, such as 1 %."""
    out_of_roundness: Annotated[float, Quantity("length", "0 mm", "50 mm", "0.2 mm")] | None = None
    """Largest deviation of the wall's radius from its mean, such as 0.2 mm."""

    @property
    def plies(self) -> int:
        """Number of plies through the wall."""
        return sum(len(block.angles) * block.repeats for block in self.layup)

    @property
    def thickness(self) -> float:
        """Wall thickness, mm."""
        return sum(b.thickness * len(b.angles) * b.repeats for b in self.layup)

    @property
    def outer_radius(self) -> float:
        """Outer radius, mm."""
        return self.bore_radius + self.thickness


class BondThickness(Part):
    """Thickness of each bond of the form."""

    inner: BondGap | None = None
    """Bond between the wall's bore and the ring's inner lip."""
    end: BondGap | None = None
    """Bond between the wall's end face and the ring's web."""
    outer: BondGap | None = None
    """Bond between the wall's outside and the ring's outer lip."""
    scarf: BondGap | None = None
    """Bond along the slope of a scarf."""


class Overlap(Part):
    """Axial length of each lapped bond."""

    inner: Overlapping | None = None
    """Length of the inner lip over the wall's bore."""
    outer: Overlapping | None = None
    """Length of the outer lip over the wall's outside."""


class Surface(Part):
    """How the faces were prepared for bonding."""

    ring: Name
    """Preparation of the ring, such as blasted-primed."""
    wall: Name
    """Preparation of the wall, such as peel-ply-abraded."""


class Joint(Part):
    """The bonded joint."""

    form: Form
    """Form of the joint: butt, inner-lap, outer-lap, socket or scarf."""
    adhesive: Name
    """Name of the adhesive's material card."""
    bond_thickness: BondThickness
    """One thickness for every bond, such as 1 mm, or one for each: {inner: 1 mm, end: 1 mm}."""
    overlap: Overlap = Overlap()
    """Axial length of the lapped bonds, such as {inner: 40 mm}."""
    squeeze_out: Annotated[float, Quantity("length", "0 mm", "10 mm", "1.0 mm")] = 0.0
    """Adhesive fillet left at the open edges; 0 is wiped flush."""
    surface: Surface | None = None
    """Surface preparation of ring and wall."""

    @field_validator("bond_thickness", mode="before")
    @classmethod
    def _one_for_all(cls, tree: Any, info: ValidationInfo) -> Any:
        if isinstance(tree, dict | BondThickness):
            return tree
        return dict.fromkeys(BONDS.get(info.data.get("form", ""), ("end",)), tree)


class Lip(Part):
    """Radial thickness of each lip of the ring."""

    inner: LipHeight | None = None
    """Lip inside the wall's bore."""
    outer: LipHeight | None = None
    """Lip around the wall's outside."""


class Ring(Part):
    """The metal end ring."""

    material: Name
    """Name of the ring's material card."""
    lip: Lip = Lip()
    """Radial thickness of the lips at their root, such as {inner: 12 mm}."""
    lip_tip: Lip = Lip()
    """Radial thickness of the lips at their tip; the same as at the root where not given."""
    web: Annotated[float, Quantity("length", "0.5 mm", "2 m", "20 mm")]
    """Axial thickness behind the end bond, such as 20 mm."""
    root_radius: Annotated[float, Quantity("length", "0 mm", "100 mm", "2 mm")] = 0.0
    """Radius in the corner of the ring's groove; 0 is a sharp corner."""
    inner_radius: Annotated[float, Quantity("length", "0 mm", "6 m", "140 mm")] | None = None
    """Bore of the ring's body, where it differs from what lips and wall give."""
    outer_radius: Annotated[float, Quantity("length", "1 mm", "6 m", "180 mm")] | None = None
    """Outside of the ring's body, where it differs from what lips and wall give."""


class Head(Part):
    """What closes the ring."""

    form: Literal["hemisphere", "flat", "none"]
    """hemisphere, flat, or none: the end-cap load then acts evenly on the ring's end face."""
    material: Name | None = None
    """Name of the head's material card."""
    thickness: Annotated[float, Quantity("length", "0.5 mm", "2 m", "10 mm")] | None = None
    """Thickness, such as 10 mm."""
    inner_radius: Annotated[float, Quantity("length", "1 mm", "6 m", "150 mm")] | None = None
    """Inner radius of a hemisphere, where it is not to stand centred on mid-wall."""


class KnockDown(Part):
    """A factor on the strengths of one part, with what speaks for it."""

    on: Literal["adhesive", "wall", "ring", "head"]
    """Part whose strengths it lowers: adhesive, wall, ring or head."""
    factor: Annotated[float, Field(strict=True, ge=0.05, le=1)]
    """Share of the strength that is left, a plain number such as 0.85."""
    reason: Text
    """What lowers the strength, such as wet."""
    evidence: Text = "assumed"
    """What the factor rests on: tests, a citation, or the word assumed."""


class Flaw(Part):
    """A ring-shaped disbond: a stretch of a bond that does not hold."""

    bond: Literal["inner", "end", "outer", "scarf"]
    """Bond that it lies in: inner, end, outer or scarf."""
    face: Literal["wall", "ring", "middle"]
    """Face that has come off: wall, ring, or middle for a split inside the adhesive."""
    start: Annotated[float, Quantity("length", "0 mm", "5 m", "0 mm")]
    """Where it starts, from the bond's open edge; 0 mm is open to the sea or the inside there."""
    length: Annotated[float, Quantity("length", "0.02 mm", "5 m", "10 mm")]
    """Length along the bond, such as 10 mm."""
    flooded: Annotated[bool, Field(strict=True)] = True
    """Whether the sea enters it where it reaches a wet edge: yes or no."""
    note: Prose = ""
    """What is known of it, such as how it was found."""


class TestedStrength(Part):
    """Strength of an adhesive with a filler, as tested."""

    share: Annotated[float, Quantity("share", "0 %", "60 %", "10 %")]
    """Share of filler by volume, such as 10 %."""
    factor: Annotated[float, Field(strict=True, gt=0, le=5)]
    """Strength over that without filler, a plain number such as 1.1."""


class Filler(Part):
    """Hard particles stirred into the adhesive."""

    share: Annotated[float, Quantity("share", "0 %", "60 %", "10 %")]
    """Share by volume, such as 10 %."""
    modulus: Annotated[float, Quantity("modulus", "1 MPa", "2000 GPa", "70 GPa")]
    """Young's modulus of the particles, such as 70 GPa."""
    poisson: Annotated[float, Field(strict=True, gt=-1, lt=0.4999)]
    """Poisson's ratio of the particles, such as 0.2."""
    cte: Annotated[float, Quantity("thermal expansion", "-1e-4 /K", "1e-3 /K", "0.5e-6 /K")]
    """Thermal expansion of the particles, such as 0.5e-6 /K."""
    density: Annotated[float, Quantity("density", "10 kg/m^3", "25000 kg/m^3", "2200 kg/m^3")]
    """Density of the particles, such as 2200 kg/m^3."""
    tested: Annotated[
        tuple[TestedStrength, ...], Field(min_length=2, max_length=bounds.TESTED_STRENGTHS)
    ]
    """Strengths tested at several shares, by rising share; nothing is drawn on beyond them."""
    evidence: Text = "assumed"
    """What the tested strengths rest on: tests, a citation, or the word assumed."""


class Process(Part):
    """What making the joint did to it, beside surface, wall voids and waviness."""

    adhesive_voids: Annotated[float, Quantity("share", "0 %", "30 %", "2 %")] | None = None
    """Share of voids in the adhesive by volume, such as 2 %."""
    filler: Filler | None = None
    """Hard particles stirred into the adhesive."""
    bond_thickness_tolerance: (
        Annotated[float, Quantity("length", "0 mm", "10 mm", "0.2 mm")] | None
    ) = None
    """How much thicker or thinner than nominal every bond may be, such as 0.2 mm."""
    ring_offset: Annotated[float, Quantity("length", "0 mm", "10 mm", "0.1 mm")] | None = None
    """How far the ring's axis may lie beside the wall's, such as 0.1 mm."""
    bonding: Bonding = Bonding()
    """How the bond is to be made: mix, pot life, cure; for the bond sheet alone."""


class MeshLevel(Part):
    """How fine the mesh is, and how exact the answer must be."""

    level: Annotated[Count, Field(ge=0, le=bounds.MESH_LEVEL)] = 1
    """0 is coarse, 1 the default; each step halves the elements' sizes, up to 3."""
    target: Annotated[float, Quantity("share", "0.01 %", "50 %", "1 %")] = 0.01
    """Largest numerical error of a headline that is accepted, such as 1 %."""


class Case(Part):
    """A whole case."""

    title: Text
    """What the case is, on one line."""
    note: Prose = ""
    """Anything a reader should know."""
    duty: Duty
    """What the hull must bear: depth or pressure, and temperatures."""
    wall: Wall
    """The composite wall."""
    joint: Joint
    """The bonded joint."""
    ring: Ring
    """The metal end ring."""
    head: Head
    """What closes the ring: form, material, thickness."""
    mesh: MeshLevel = MeshLevel()
    """How fine the mesh is, and how exact the answer must be."""
    flaws: Annotated[tuple[Flaw, ...], Field(max_length=bounds.FLAWS)] = ()
    """Disbonds: which bond, which face, where, how long."""
    process: Process = Process()
    """What making the joint did to it: voids, filler, tolerances."""
    gauges: Gauges = {}
    """Strain gauges of the proof test by name."""
    proof: Proof = Proof()
    """The proof test: its pressure and the limits it is held to."""
    knock_downs: Annotated[tuple[KnockDown, ...], Field(max_length=bounds.KNOCK_DOWNS)] = ()
    """Factors on the strengths of adhesive, wall, ring and head, each with its evidence."""
    materials: dict[Name, Card] = Field(default={}, validate_default=True, max_length=bounds.CARDS)
    """The case's own material cards by name; once read, every card the case uses."""

    _origin: Origin = PrivateAttr(default_factory=Origin)

    @property
    def origin(self) -> Origin:
        """The file the case was read from, with the line of every field."""
        return self._origin

    @field_validator("ring")
    @classmethod
    def _complete_lips(cls, ring: Ring, info: ValidationInfo) -> Ring:
        """Give a scarf its flush lip and every lip its tip, where the file is silent."""
        joint = info.data.get("joint")
        if joint is None:
            return ring
        lip = ring.lip
        if joint.form == "scarf":
            flush = {s: 0.0 for s in ("inner", "outer") if getattr(joint.overlap, s) is not None}
            lip = Lip(**{**flush, **lip.model_dump(exclude_none=True)})
        tip = {**lip.model_dump(exclude_none=True), **ring.lip_tip.model_dump(exclude_none=True)}
        return ring.model_copy(update={"lip": lip, "lip_tip": Lip(**tip)})

    _name_cards = field_validator("materials", mode="before")(cards_in)
    _name_gauges = field_validator("gauges", mode="before")(name_gauges)

    @field_validator("materials")
    @classmethod
    def _add_library_cards(cls, own: dict[str, Card], info: ValidationInfo) -> dict[str, Card]:
        used = [name for _, name in used_materials(info.data)]
        return {**own, **{n: library()[n] for n in used if n not in own and n in library()}}

    @model_validator(mode="after")
    def _check(self, info: ValidationInfo) -> Case:
        self._origin = (info.context or {}).get("origin") or self._origin
        check(self)
        check_gauges(self)
        return self


def read_case(path: str | os.PathLike[str]) -> Case:
    """Read and check a case file.

    Parameters
    ----------
    path : path-like

    Returns
    -------
    Case

    Raises
    ------
    CaseError
        One line that names the file, the field, what was written and what is allowed.
    """
    tree, origin = read_yaml(path)
    return parse_case(tree, origin)


def parse_case(tree: Tree, origin: Origin | None = None) -> Case:
    """Make a case of plain data as a case file holds it (quantities as texts with units).

    Parameters
    ----------
    tree : dict
    origin : Origin, optional
        Where the data came from, for messages.

    Returns
    -------
    Case

    Raises
    ------
    CaseError
        As `read_case`.
    """
    origin = origin or Origin()
    try:
        return Case.model_validate(tree, context={"file": True, "origin": origin})
    except ValidationError as error:
        raise case_error(error, origin) from None


def write_case(case: Case, path: str | os.PathLike[str]) -> None:
    """Write a case, with every material card it uses, so that `read_case` gives it back equal.

    Parameters
    ----------
    case : Case
    path : path-like
        The file to write; quantities are written in inside units.
    """
    write_yaml(case.model_dump(mode="json", exclude_none=True), path)
