"""What makes a page answer to the reader: one charting library, data and scripts inside the page.

Formulation
    Everything is in the page itself: the library once, our own scripts, and what they show as
    JSON. The browser never asks another machine for anything.
    The library is packed (deflate, base64): it is most of a page's size, and every browser of
    these years unpacks it in a moment. One that cannot shows the page as without scripts.
Safety
    The data hold words of the case. In the JSON of a page the characters <, > and & are written
    as escapes, so that no word of a case can end a script or begin a tag.
"""

from __future__ import annotations

import base64
import json
import zlib
from functools import cache
from typing import Any

import numpy as np
from markupsafe import Markup
from numpy.typing import ArrayLike
from plotly.offline import get_plotlyjs

from post.pages import TEMPLATES

ESCAPES = str.maketrans({"<": "\\u003c", ">": "\\u003e", "&": "\\u0026"})


@cache
def plotly_script() -> Markup:
    """Give the charting library, packed, once to a page; `charts.js` unpacks it."""
    packed = base64.b64encode(zlib.compress(get_plotlyjs().encode(), 9)).decode()
    return Markup('<script type="text/plain" id="plotly-packed">{}</script>').format(packed)


def own_script(file: str) -> Markup:
    """Give one of our own scripts, a file among the templates, as a script element."""
    return _element((TEMPLATES / file).read_text(encoding="utf-8"))


def json_block(name: str, data: Any) -> Markup:
    """Put data into a page, for a script to read.

    Parameters
    ----------
    name : str
        Id of the element.
    data
        Of what JSON has: no number may be infinite or undefined.

    Returns
    -------
    Markup
        A script element that no browser runs.

    Raises
    ------
    ValueError
        When a number is infinite or undefined.
    """
    text = json.dumps(data, allow_nan=False, separators=(",", ":")).translate(ESCAPES)
    return Markup('<script type="application/json" id="{}">{}</script>').format(name, Markup(text))


def rounded(values: ArrayLike, digits: int = 6) -> list[float]:
    """Give numbers with so many significant digits, for the JSON of a page."""
    numbers = np.asarray(values, float).ravel()
    return [float(f"{number:.{digits}g}") for number in numbers]


def _element(script: str) -> Markup:
    """Wrap a script that we trust."""
    if "</script" in script.lower():
        raise ValueError("a script holds the tag that would end it")
    return Markup("<script>\n" + script + "\n</script>")  # noqa: S704
