"""Toughness at a tip's own mix of modes."""

import pytest

from post.toughness import Toughness, toughness
from solve.energy_release import TipEnergy
from tests.joints import joint_case

# M.L. Benzeggagh & M. Kenane, Compos. Sci. Technol. 56 (1996) 439; the constants of AS4/PEEK as
# P.P. Camanho, C.G. Davila & M.F. de Moura, J. Compos. Mater. 37 (2003) 1415, tabulate them (value
# from memory): 0.969 + 0.750 / 2^2.284 at equal modes.
AS4_PEEK = Toughness(opening=0.969, shearing=1.719, exponent=2.284)


@pytest.mark.parametrize(
    ("modes", "limit"),
    [
        ((1.0, 0.0, 0.0), 0.969),
        ((0.0, 1.0, 0.0), 1.719),
        ((0.0, 0.3, 0.7), 1.719),  # mode III counts with II (common practice, no published source)
        ((2.0, 1.5, 0.5), 1.12300),
        ((0.0, 0.0, 0.0), 0.969),  # nothing pulls: the least
    ],
)
def test_the_limit_follows_the_tips_mix(modes: tuple[float, float, float], limit: float) -> None:
    tip = TipEnergy(sum(modes), *modes, 1.0)
    assert AS4_PEEK.limit(tip) == pytest.approx(limit, rel=1e-5)


def test_the_least_is_the_smaller_of_both() -> None:
    assert (AS4_PEEK.least, Toughness(3.0, 2.0, 1.0).least) == (0.969, 2.0)


@pytest.mark.parametrize("missing", [("GIc",), ("GIIc",), ("GIc", "GIIc")])
def test_everything_that_a_card_lacks_is_named(missing: tuple[str, ...]) -> None:
    case = joint_case("inner-lap")
    card = case.materials[case.joint.adhesive]
    left = {name: value for name, value in card.toughness.items() if str(name) not in missing}
    poor = case.materials | {card.name: card.model_copy(update={"toughness": left})}
    found, words = toughness(case.model_copy(update={"materials": poor}), "middle")
    assert found is None
    for name in ("GIc", "GIIc"):
        assert (f"has no {name}" in words) == (name in missing)
