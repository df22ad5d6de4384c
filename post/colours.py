"""Colours of the pictures: parts of the joint, curves, and the map of signed stresses.

Formulation
    The map of signed stresses is straight in CIELAB: lightness falls at the same rate from white
    at zero to both ends, hue stays blue for compression and orange-red for tension. Equal steps
    of stress are equal steps to the eye, and the pair of hues survives the common kinds of colour
    blindness.
    CIELAB to sRGB: IEC 61966-2-1 (1999) and CIE 15 with white point D65 (values from memory).
"""

from __future__ import annotations

import numpy as np
from matplotlib.colors import ListedColormap
from numpy.typing import NDArray

Floats = NDArray[np.float64]

INK = "#1d2730"
QUIET = "#66727c"
SEA = "#0a5c9e"
PAPER = "#ffffff"
FLAW = "#a3155f"  # apart from the adhesive's orange and the sea's blue, also to the colour-blind

# Calm fills that differ in lightness too, and hatching for print: metal parts are lined at 45
# degrees, neighbours the opposite way; the wall is lined along its plies.
PARTS = ("wall", "adhesive", "ring", "head")
FILL = {"wall": "#b9d3ea", "adhesive": "#e0902f", "ring": "#dcdcd6", "head": "#f1eee2"}
HATCH = {"wall": "---", "adhesive": "", "ring": "///", "head": "\\\\\\"}

LOADS = ("duty", "pressure", "temperature")
LINE = {"duty": "#1d2730", "pressure": "#0a5c9e", "temperature": "#c8641a"}
DASH: dict[str, str | tuple[int, tuple[int, ...]]] = {
    "duty": "-",
    "pressure": (0, (6, 2)),
    "temperature": (0, (1, 1)),
}

LIGHTNESS_AT_END = 32.0
COLD, WARM = (5.5, -41.0), (45.0, 45.0)  # (a*, b*) at the ends, inside sRGB all the way
MAP_STEPS = 511  # odd: the middle one is zero


def _srgb(lab: Floats) -> Floats:
    """Turn CIELAB, (n, 3), into sRGB in 0 to 1, clipped."""
    fy = (lab[:, 0] + 16) / 116
    f = np.stack([fy + lab[:, 1] / 500, fy, fy - lab[:, 2] / 200], axis=1)
    xyz = np.where(f > 6 / 29, f**3, 3 * (6 / 29) ** 2 * (f - 4 / 29))
    xyz *= np.array([0.95047, 1.0, 1.08883])
    linear = xyz @ np.linalg.inv(RGB_TO_XYZ).T
    linear = np.clip(linear, 0.0, 1.0)
    powered = 1.055 * linear ** (1 / 2.4) - 0.055
    return np.asarray(np.where(linear <= 0.0031308, 12.92 * linear, powered), np.float64)


RGB_TO_XYZ = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)


def signed_map() -> ListedColormap:
    """Map of signed stresses: blue for compression, white at zero, orange-red for tension."""
    t = np.linspace(-1.0, 1.0, MAP_STEPS)
    away = np.abs(t)
    ends = np.where(t[:, None] < 0, np.array(COLD), np.array(WARM))
    lab = np.column_stack([100 - (100 - LIGHTNESS_AT_END) * away, ends * away[:, None]])
    rgb = _srgb(lab)
    rgb[MAP_STEPS // 2] = 1.0
    return ListedColormap(rgb, "signed stress")
