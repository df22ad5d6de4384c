"""Strengths of a ply, as the criteria take them: after every knock-down, in MPa."""

from __future__ import annotations

from dataclasses import dataclass

from post.criteria.multiplier import require_positive


@dataclass(frozen=True)
class PlyStrength:
    """Strengths in ply axes, MPa, all positive.

    Attributes
    ----------
    XT, XC : float
        Along the fibre, tension and compression.
    YT, YC : float
        Across the fibre in the surface.
    ZT, ZC : float
        Through the thickness.
    S12, S13, S23 : float
        Shear.
    """

    XT: float
    XC: float
    YT: float
    YC: float
    ZT: float
    ZC: float
    S12: float
    S13: float
    S23: float

    def __post_init__(self) -> None:
        require_positive(self)

    @classmethod
    def transverse(
        cls, XT: float, XC: float, YT: float, YC: float, S12: float, S23: float | None = None
    ) -> PlyStrength:
        """Strengths of a ply that is alike in all directions across its fibres.

        Parameters
        ----------
        XT, XC, YT, YC, S12 : float
            MPa.
        S23 : float, optional
            MPa; YC / 2 if left out, which is the usual choice where it was not measured (the
            largest shear stress at failure in transverse compression).
        """
        S23 = YC / 2 if S23 is None else S23
        return cls(XT=XT, XC=XC, YT=YT, YC=YC, ZT=YT, ZC=YC, S12=S12, S13=S12, S23=S23)
