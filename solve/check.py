"""One line of the verification table."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import SupportsFloat


@dataclass(frozen=True)
class Check:
    """A published number, ours, and how far they may differ.

    Attributes
    ----------
    topic : str
        What the number belongs to, for grouping.
    claim : str
        What the number is.
    source : str
        Where the number or its formula was published.
    status : str
        "published" (the number was seen in print), "recomputed" (from the published formula, by a
        second route), "value from memory" (of the cited publication) or "common practice" (of
        the trade, with no published source).
    unit : str
        Of both numbers; "1" for pure numbers.
    published, ours : float
    allowed : float
        Largest difference allowed: a fraction of `published` if `relative`, else in `unit`.
    relative : bool
    """

    topic: str
    claim: str
    source: str
    status: str
    unit: str
    published: float
    ours: float
    allowed: float
    relative: bool = False

    @property
    def difference(self) -> float:
        """Ours less the published number, in the terms of `allowed`."""
        difference = self.ours - self.published
        return difference / abs(self.published) if self.relative else difference

    @property
    def passes(self) -> bool:
        """Whether the difference is allowed."""
        return abs(self.difference) <= self.allowed


@dataclass(frozen=True)
class Reference:
    """A source, from which checks are made against its numbers as they are printed."""

    topic: str
    source: str
    status: str

    def check(
        self, claim: str, unit: str, printed: str, ours: SupportsFloat, *, digits: float = 0.5
    ) -> Check:
        """Compare with a number as it is printed.

        Parameters
        ----------
        claim, unit : str
        printed : str
            The number with all its printed digits, for instance "-0.01199" or "1.739e9".
        ours : float
        digits : float
            Allowed difference in units of the last printed digit; a rightly rounded number needs
            no more than half a one.

        Returns
        -------
        Check
        """
        exponent = Decimal(printed).as_tuple().exponent
        if not isinstance(exponent, int):
            raise ValueError(f"{printed} is not a printed number")
        allowed = digits * 10.0**exponent * (1 + 1e-6)  # room for a digit that is exactly half
        return Check(
            self.topic,
            claim,
            self.source,
            self.status,
            unit,
            float(printed),
            float(ours),
            allowed,
        )

    def near(
        self,
        claim: str,
        unit: str,
        published: SupportsFloat,
        ours: SupportsFloat,
        *,
        within: float,
        relative: bool = True,
    ) -> Check:
        """Compare with a number that the method is not expected to meet to its last digit.

        Parameters
        ----------
        claim, unit : str
        published, ours : float
        within : float
            Allowed difference: a fraction of `published`, or in `unit` if not `relative`.
        relative : bool

        Returns
        -------
        Check
        """
        return Check(
            self.topic,
            claim,
            self.source,
            self.status,
            unit,
            float(published),
            float(ours),
            within,
            relative,
        )
