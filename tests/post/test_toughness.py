"""Toughness at a tip's own mix of modes."""

import pytest

from post.toughness import Toughness
from solve.energy_release import TipEnergy

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
