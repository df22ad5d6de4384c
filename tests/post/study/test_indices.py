"""Sensitivities through the same plan, batches and table as any study."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from geometry.errors import CaseError
from post.study.ask import Do
from post.study.batches import Kept, evaluate_batch
from post.study.gather import gather
from post.study.indices import morris_effects, rank_correlations, sobol_indices
from post.study.models import FunctionModel
from post.study.plans import plan_points
from post.study.probability import chance, chance_below
from post.study.spreads import Uniform, Variable
from solve.shear_lag_formulas import volkersen

ANGLE = Uniform(-math.pi, math.pi)
THREE = tuple(Variable(name, ANGLE) for name in ("x1", "x2", "x3"))
SOBOL = Do.model_validate({"sensitivity": {"method": "sobol", "repeats": 2**14}})


def ishigami(values):
    x1, x2, x3 = (values[name] for name in ("x1", "x2", "x3"))
    return {"y": math.sin(x1) + 7 * math.sin(x2) ** 2 + 0.1 * x3**4 * math.sin(x1)}


def table_of(do: Do, variables, function, folder: Path, size: int = 20_000) -> pd.DataFrame:
    points = plan_points(do, variables, (), 1)
    model = FunctionModel(function, ("y",))
    parts = [
        evaluate_batch(
            model,
            points.iloc[first : first + size],
            Kept(folder / f"{first}.jsonl", "digest"),
            "test",
            lambda text: None,
        )
        for first in range(0, len(points), size)
    ]
    return gather(parts, ("y",))


@pytest.mark.slow
def test_sobol_indices_of_ishigami(tmp_path):
    # T. Ishigami & T. Homma, ISUMA 1990, 398-403, a = 7, b = 0.1, closed form:
    # S = 0.313905, 0.442411, 0; ST = 0.557589, 0.442411, 0.243684 (recomputed). The estimators
    # scatter by about 0.01 with 2^14 base points.
    table = table_of(SOBOL, THREE, ishigami, tmp_path)
    found, blocks = sobol_indices(table["y"].to_numpy(), THREE, 2**14, 1)
    assert blocks == 2**14
    np.testing.assert_allclose(found["first"], [0.313905, 0.442411, 0.0], atol=0.01)
    np.testing.assert_allclose(found["total"], [0.557589, 0.442411, 0.243684], atol=0.01)
    assert (np.abs(found["first"] - [0.313905, 0.442411, 0.0]) < 2 * found["first_interval"]).all()
    assert table["y"].mean() == pytest.approx(3.5, abs=0.05)


def exact_indices(function, ends: list[tuple[float, float]], n: int = 24):
    """First-order and total indices by Gauss' quadrature of the defining integrals."""
    x, w = np.polynomial.legendre.leggauss(n)
    axes = [(low + high) / 2 + (high - low) / 2 * x for low, high in ends]
    y = function(*np.meshgrid(*axes, indexing="ij"))
    w = w / 2

    def mean(array, over):
        for axis in sorted(over, reverse=True):
            array = np.tensordot(array, w, axes=(axis, 0))
        return array

    every = range(len(ends))
    middle = mean(y, every)
    variance = mean(y**2, every) - middle**2
    first, total = [], []
    for i in every:
        others = [j for j in every if j != i]
        first.append((mean(mean(y, others) ** 2, [0]) - middle**2) / variance)
        inner = mean(y**2, [i]) - mean(y, [i]) ** 2
        total.append(mean(inner, range(len(ends) - 1)) / variance)
    return np.array(first), np.array(total)


@pytest.mark.slow
def test_sobol_indices_of_a_lap_joint(tmp_path):
    # Peak shear of O. Volkersen's lap (Luftfahrtforschung 15 (1938) 41-47) over the bond's shear
    # modulus, its thickness, the overlap and a sheet's modulus; the indices by quadrature.
    ends = [(600.0, 1200.0), (0.5, 2.0), (20.0, 60.0), (60e3, 80e3)]
    names = ("G", "eta", "overlap", "E")
    variables = tuple(Variable(n, Uniform(*e)) for n, e in zip(names, ends, strict=True))

    def peak(values):
        G, eta, overlap, E = (values[name] for name in names)
        lag = volkersen(100.0, overlap, G, eta, 2 * E, 4 * 70e3)
        return {"y": float(lag.shear([-overlap / 2])[0])}

    def vectorised(G, eta, overlap, E):
        w = np.sqrt(G / eta * (1 / (2 * E) + 1 / (4 * 70e3)))
        psi, half = 2 * E / (4 * 70e3), w * overlap / 2
        uneven = (psi - 1) / (psi + 1)
        return 100 / overlap * half * (1 / np.tanh(half) - uneven * np.tanh(half))

    assert peak({"G": 800.0, "eta": 1.0, "overlap": 30.0, "E": 7e4})["y"] == pytest.approx(
        float(vectorised(800.0, 1.0, 30.0, 7e4)), rel=1e-12
    )
    first, total = exact_indices(vectorised, ends)
    do = Do.model_validate({"sensitivity": {"method": "sobol", "repeats": 2**12}})
    table = table_of(do, variables, peak, tmp_path)
    found, _ = sobol_indices(table["y"].to_numpy(), variables, 2**12, 1)
    np.testing.assert_allclose(found["first"], first, atol=0.02)
    np.testing.assert_allclose(found["total"], total, atol=0.02)


def test_morris_finds_slopes_and_bends(tmp_path):
    # M.D. Morris 1991: a linear term's effects are all its slope times its range; a product's
    # differ, and a dead variable has none.
    variables = tuple(Variable(n, Uniform(0.0, 2.0)) for n in ("a", "b", "c", "dead"))
    do = Do.model_validate({"sensitivity": {"method": "morris", "repeats": 20}})
    table = table_of(do, variables, lambda v: {"y": 3 * v["a"] + v["b"] * v["c"]}, tmp_path)
    found, whole = morris_effects(table["y"].to_numpy(), variables, do, 1)
    assert whole == 20
    assert found["mu_star"][0] == pytest.approx(6.0)
    assert found["sigma"][0] == pytest.approx(0.0, abs=1e-9)
    assert found["sigma"][1] > 0.3
    assert found["mu_star"][3] == pytest.approx(0.0, abs=1e-12)


def test_refused_points_are_rows_and_take_their_block_with_them(tmp_path):
    def picky(values):
        if values["x1"] > 3.1:
            raise CaseError("point", "x1", reason="is too large", allowed="less")
        return ishigami(values)

    do = Do.model_validate({"sensitivity": {"method": "sobol", "repeats": 256}})
    table = table_of(do, THREE, picky, tmp_path)
    refused = table["status"] == "refused"
    assert 0 < refused.sum() < 50
    assert (refused == (table["x1"] > 3.1)).all()
    assert table.loc[refused, "y"].isna().all()
    assert table.loc[refused, "reason"].str.contains("x1: is too large").all()
    found, blocks = sobol_indices(table["y"].to_numpy(), THREE, 256, 1)
    touched = (table["x1"].to_numpy().reshape(256, 5) > 3.1).any(axis=1).sum()
    assert blocks == 256 - touched
    assert found["first"].notna().all()


def test_rank_correlation_is_one_where_one_rises_with_the_other():
    # Spearman: any rising function has rank correlation 1.
    x = np.linspace(0.1, 2, 40)
    table = pd.DataFrame({"x": x, "z": np.tile([1.0, 2.0], 20), "y": np.exp(x)})
    variables = [Variable("x", Uniform(0, 2)), Variable("z", Uniform(1, 2))]
    found = rank_correlations(table, "y", variables)
    assert found["correlation"][0] == pytest.approx(1.0)
    assert found["low"][1] < 0 < found["high"][1]


def test_chance_has_the_interval_of_clopper_and_pearson():
    # Closed forms of the interval: 0 of n gives high = 1 - 0.025^(1/n) (Clopper & Pearson 1934);
    # 1 of 10 gives 0.0025286 to 0.4450161, from the roots of the two binomial tails.
    none = chance(0, 20)
    assert (none.estimate, none.low) == (0.0, 0.0)
    assert none.high == pytest.approx(1 - 0.025 ** (1 / 20), rel=1e-9)
    one = chance(1, 10)
    assert one.low == pytest.approx(1 - 0.975 ** (1 / 10), rel=1e-9)
    p = one.high  # P(at most 1 of 10) = 0.025 there
    assert (1 - p) ** 10 + 10 * p * (1 - p) ** 9 == pytest.approx(0.025, rel=1e-6)


def test_points_without_a_number_are_left_out_and_counted():
    found = chance_below(pd.Series([1.0, 2.0, np.nan, np.inf]), 1.5)
    assert found is not None
    assert (found.short, found.judged, found.left_out) == (1, 3, 1)
