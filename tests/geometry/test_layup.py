"""Layers of a wall: whatever is resolved or smeared, the stack of plies stays the same."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.case import Block, ResolvePlies, Wall
from geometry.layup import lay_up

BLOCKS = st.lists(
    st.builds(
        Block,
        ply=st.sampled_from(["one", "two"]),
        thickness=st.sampled_from(["0.2 mm", "0.5 mm"]),
        angles=st.lists(st.sampled_from([0.0, 30.0, 90.0]), min_size=1, max_size=4).map(tuple),
        repeats=st.integers(1, 4),
    ),
    min_size=1,
    max_size=3,
).map(tuple)


def wall_of(blocks: tuple[Block, ...], innermost: int, outermost: int) -> Wall:
    return Wall(
        bore_radius="100 mm",
        half_length="300 mm",
        layup=blocks,
        resolve_plies=ResolvePlies(innermost=innermost, outermost=outermost),
    )


@given(BLOCKS, st.integers(0, 6), st.integers(0, 6))
def test_layers_hold_the_plies_of_the_stack_in_their_order(
    blocks: tuple[Block, ...], innermost: int, outermost: int
) -> None:
    # What was wound is what is computed: the stack is written out ply by ply beside it.
    wall = wall_of(blocks, innermost, outermost)
    layers = lay_up(wall)
    stack = [(b.ply, b.thickness, a) for b in blocks for _ in range(b.repeats) for a in b.angles]
    found = [(p.card, p.thickness, p.angle) for x in layers for p in x.plies * x.repeats]
    assert found == stack
    radius = 100.0
    for layer in layers:
        assert layer.inner_radius == pytest.approx(radius)
        assert layer.thickness == pytest.approx(
            sum(p.thickness for p in layer.plies) * layer.repeats
        )
        radius = layer.outer_radius
    assert radius == pytest.approx(wall.outer_radius)


@given(BLOCKS, st.integers(0, 6), st.integers(0, 6))
def test_resolved_plies_are_named_by_their_place_in_the_stack(
    blocks: tuple[Block, ...], innermost: int, outermost: int
) -> None:
    layers = lay_up(wall_of(blocks, innermost, outermost))
    assert len({layer.name for layer in layers}) == len(layers)
    plies = sum(b.repeats * len(b.angles) for b in blocks)
    before, resolved = 0, []
    for layer in layers:
        if "-ply-" in layer.name:
            assert layer.name.endswith(f"-ply-{before + 1}")
            assert len(layer.plies) == layer.repeats == 1
            resolved.append(before)
        before += len(layer.plies) * layer.repeats
    wanted = {*range(min(innermost, plies)), *range(max(0, plies - outermost), plies)}
    assert resolved == sorted(wanted)


def test_what_is_left_of_a_cut_block_is_smeared_in_parts() -> None:
    block = Block(ply="one", thickness="0.2 mm", angles=(90.0, 0.0, 30.0), repeats=4)
    layers = lay_up(wall_of((block,), 1, 1))
    assert [(x.name, len(x.plies), x.repeats) for x in layers] == [
        ("wall-1-ply-1", 1, 1),
        ("wall-1", 2, 1),
        ("wall-1-part-2", 3, 2),
        ("wall-1-part-3", 2, 1),
        ("wall-1-ply-12", 1, 1),
    ]
