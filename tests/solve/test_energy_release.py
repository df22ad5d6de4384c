"""What a tip's energy is made of where nothing moves."""

from __future__ import annotations

import numpy as np
import pytest

from solve.energy_release import Disbonded


class _Still(Disbonded):
    """A joint whose elements ahead of the tip need no work to be closed again."""

    def __init__(self, G: float) -> None:
        self.G = G

    def total(self, *_: object) -> float:
        return self.G

    def closure(self, *_: object) -> tuple[np.ndarray, float, float]:
        return np.zeros(3), 1.0, 1.0


@pytest.mark.parametrize("G", [0.0, 0.2])
def test_what_neither_opens_nor_slides_counts_as_shear(G: float) -> None:
    # Statics: without load there is no energy, of no mode. What is left of G where closing needs
    # no work is counted as sliding (our rule): contact lets nothing else pass.
    tip = _Still(G).tip((), 0, 1)
    assert (tip.G, tip.G_I, tip.G_II, tip.G_III) == (G, 0.0, G, 0.0)
