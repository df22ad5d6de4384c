"""Random plies, repeat units and tubes for the property tests."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st

from geometry.layup import Layer, Ply
from solve.cited_materials import CitedPly
from solve.exact_tube import TubeLayer
from solve.laminate import Material, ply_material


@st.composite
def cards(draw: st.DrawFn) -> CitedPly:
    """Draw transversely isotropic plies from soft to carbon, all positive definite."""
    E2 = draw(st.floats(2e3, 20e3))
    return CitedPly(
        E1=E2 * draw(st.floats(1.0, 25.0)),
        E2=E2,
        nu12=draw(st.floats(0.05, 0.45)),
        G12=E2 * draw(st.floats(0.2, 1.0)),
        nu23=draw(st.floats(0.1, 0.5)),
        cte1=draw(st.floats(-1e-6, 10e-6)),
        cte2=draw(st.floats(10e-6, 60e-6)),
    )


angles = st.floats(-90, 90)


@st.composite
def units(draw: st.DrawFn) -> tuple[Layer, dict[str, CitedPly]]:
    """Draw a repeat unit of one to five plies of two cards, with the cards."""
    plies = draw(
        st.lists(
            st.builds(Ply, st.sampled_from(["one", "two"]), st.floats(0.05, 1.0), angles),
            min_size=1,
            max_size=5,
        )
    )
    thickness = sum(ply.thickness for ply in plies)
    layer = Layer("unit", 100.0, thickness, tuple(plies), 1)
    return layer, {"one": draw(cards()), "two": draw(cards())}


@st.composite
def tubes(draw: st.DrawFn) -> list[TubeLayer]:
    """Draw tubes of one to four layers of turned plies or isotropic metal, thin and thick."""
    radius = draw(st.floats(20.0, 300.0))
    layers = []
    for _ in range(draw(st.integers(1, 4))):
        outer = radius * (1 + draw(st.floats(1e-3, 0.5)))
        layers.append(TubeLayer(radius, outer, draw(materials())))
        radius = outer
    return layers


@st.composite
def materials(draw: st.DrawFn) -> Material:
    """Draw a turned ply or an isotropic metal."""
    if draw(st.booleans()):
        return ply_material(draw(cards()), draw(angles))
    E, nu = draw(st.floats(2e3, 220e3)), draw(st.floats(0.0, 0.45))
    return ply_material(CitedPly(E, E, nu, E / (2 * (1 + nu)), nu, 1e-5, 1e-5), 0.0)


def strains(seed: int, shape: tuple[int, ...] = (4,)) -> np.ndarray:
    """Make up strain states (6, ...)."""
    return np.random.default_rng(seed).normal(size=(6, *shape)) * 1e-3
