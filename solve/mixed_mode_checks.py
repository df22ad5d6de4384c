"""The mixed-mode limit against its published exponent."""

from __future__ import annotations

import numpy as np

from solve.check import Check, Reference
from solve.mixed_mode import fitted_exponent, mixed_toughness

_TOPIC = "Toughness at mixed modes"
BENZEGGAGH = Reference(
    _TOPIC,
    "Benzeggagh & Kenane, Compos. Sci. Technol. 56 (1996) 439; AS4/PEEK as tabulated by Camanho, "
    "Davila & de Moura, J. Compos. Mater. 37 (2003) 1415",
    "value from memory",
)
FORMULA = Reference(
    _TOPIC, "Benzeggagh & Kenane, Compos. Sci. Technol. 56 (1996) 439-449", "recomputed"
)

# GII/G and Gc, kJ/m^2
AS4_PEEK = {0.0: 0.969, 0.2: 1.103, 0.5: 1.131, 0.8: 1.376, 1.0: 1.719}


def mixed_mode_checks() -> list[Check]:
    """Check the exponent of a tabulated laminate, and the curve that it gives."""
    shares = np.array([share for share in AS4_PEEK if 0 < share < 1])
    tested = np.array([AS4_PEEK[share] for share in shares])
    exponent = fitted_exponent(AS4_PEEK[0.0], AS4_PEEK[1.0], shares, tested)
    half = mixed_toughness(0.969, 1.719, 2.284, 0.5)
    return [
        BENZEGGAGH.check("exponent of AS4/PEEK", "1", "2.284", exponent),
        # 0.969 + 0.750 / 2^2.284 = 0.969 + 0.750 * 0.205328
        FORMULA.check("toughness at equal modes by that exponent", "kJ/m\u00b2", "1.12300", half),
    ]
