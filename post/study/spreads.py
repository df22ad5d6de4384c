"""How a field is spread: listed values, an even range, a normal or a triangular distribution.

Formulation
    A spread maps a share u in [0, 1] to a value, by the inverse of its distribution function, so
    that every plan is made in the unit cube and knows nothing of units or distributions.
    - listed values: equally likely; u picks the value, and 1 the last.
    - normal: truncated; where no bounds are given, at `TAILS` standard deviations, for a modulus or
      a thickness has no tail that reaches zero.
    - triangular: density rises from `low` to `mode` and falls to `high`.
Units
    Inside units of the field.
Source
    Inverse of a truncated normal and of a triangular distribution: N.L. Johnson, S. Kotz & N.
    Balakrishnan, Continuous Univariate Distributions, 2nd ed. 1994 (value from memory); computed
    through `scipy.stats`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Value = float | int | str | bool

TAILS = 3.0  # standard deviations


class Spread(Protocol):
    """What every spread can do."""

    def at(self, u: Floats) -> list[Value]:
        """Values at shares in [0, 1]."""

    def levels(self) -> list[Value]:
        """Values that a grid takes."""


@dataclass(frozen=True)
class Choices:
    """Listed values, equally likely."""

    values: tuple[Value, ...]

    def at(self, u: Floats) -> list[Value]:
        """Values at shares in [0, 1]."""
        last = len(self.values) - 1
        return [self.values[min(int(share * len(self.values)), last)] for share in u]

    def levels(self) -> list[Value]:
        """Give every value."""
        return list(self.values)


@dataclass(frozen=True)
class Uniform:
    """An even range; `steps` values of it, ends included, make a grid."""

    low: float
    high: float
    steps: int = 5

    def at(self, u: Floats) -> list[Value]:
        """Values at shares in [0, 1]."""
        return [float(x) for x in self.low + (self.high - self.low) * np.asarray(u)]

    def levels(self) -> list[Value]:
        """Evenly spaced values from end to end."""
        return [float(x) for x in np.linspace(self.low, self.high, self.steps)]


@dataclass(frozen=True)
class Normal:
    """A normal distribution between bounds."""

    mean: float
    sd: float
    low: float
    high: float
    steps: int = 5

    def at(self, u: Floats) -> list[Value]:
        """Values at shares in [0, 1]."""
        from scipy import stats  # takes as long to load as two points to solve

        a, b = (self.low - self.mean) / self.sd, (self.high - self.mean) / self.sd
        return [float(x) for x in stats.truncnorm.ppf(u, a, b, loc=self.mean, scale=self.sd)]

    def levels(self) -> list[Value]:
        """Values at evenly spaced shares, the middles of equal parts."""
        return self.at((np.arange(self.steps) + 0.5) / self.steps)


@dataclass(frozen=True)
class Triangular:
    """A triangular distribution."""

    low: float
    mode: float
    high: float
    steps: int = 5

    def at(self, u: Floats) -> list[Value]:
        """Values at shares in [0, 1]."""
        from scipy import stats

        width = self.high - self.low
        peak = (self.mode - self.low) / width
        return [float(x) for x in stats.triang.ppf(u, peak, loc=self.low, scale=width)]

    def levels(self) -> list[Value]:
        """Values at evenly spaced shares, the middles of equal parts."""
        return self.at((np.arange(self.steps) + 0.5) / self.steps)


@dataclass(frozen=True)
class Variable:
    """A field that varies.

    Attributes
    ----------
    name : str
        Dotted path, as the study writes it.
    spread : Spread
    unit : str
        Inside unit; empty for a plain number or a name.
    """

    name: str
    spread: Spread
    unit: str = ""

    @property
    def numeric(self) -> bool:
        """Whether its values are numbers."""
        return not isinstance(self.spread, Choices) or all(
            isinstance(v, int | float) and not isinstance(v, bool) for v in self.spread.values
        )


@dataclass(frozen=True)
class Group:
    """Fields that vary together.

    Attributes
    ----------
    names : tuple of str
    correlation : float
        Of each pair, of the normal scores behind the values (Gaussian copula).
    """

    names: tuple[str, ...]
    correlation: float


def correlate(u: Floats, names: Sequence[str], groups: Sequence[Group]) -> Floats:
    """Correlate shares by a Gaussian copula.

    Parameters
    ----------
    u : (n, k) array
        Independent shares in (0, 1).
    names : sequence of k str
    groups : sequence of Group

    Returns
    -------
    (n, k) array
        Shares, each still even in (0, 1); columns outside the groups are unchanged. With normal
        scores z = Phi^-1(u) of a group and L L' = R its correlation, Phi(L z).
        Source: R.B. Nelsen, An Introduction to Copulas, 2nd ed. 2006, ch. 2 (value from memory).
    """
    joined = np.array(u, float)
    if not groups:
        return joined
    from scipy import stats

    for group in groups:
        columns = [names.index(name) for name in group.names]
        R = np.full((len(columns), len(columns)), group.correlation)
        np.fill_diagonal(R, 1.0)
        shares = np.clip(joined[:, columns], 1e-12, 1 - 1e-12)
        joined[:, columns] = stats.norm.cdf(stats.norm.ppf(shares) @ np.linalg.cholesky(R).T)
    return joined


def with_steps(spread: Spread, steps: int) -> Spread:
    """Give a spread another number of grid values; listed values keep theirs."""
    return spread if isinstance(spread, Choices) else replace(spread, steps=steps)  # type: ignore[type-var]
