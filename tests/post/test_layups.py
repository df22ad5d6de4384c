"""The comparison of layups. Common practice, no published source, where none is named."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest

from geometry.errors import CaseError
from post.judge import judge
from post.layups import (
    AS_IN_CASE,
    CROSS_PLY,
    NAMED_LAYUPS,
    Judged,
    differs,
    judge_layups,
    layups_table,
    mode_key,
    ratios,
    stiffness,
    with_layup,
)
from post.layups_chart import ALONE, draw_layups, lanes, letters
from post.layups_page import render, rows, write_layups
from post.layups_words import (
    deepest_words,
    governing_words,
    layup_words,
    ratio_text,
    settled,
    trade_words,
    twin_words,
)
from post.strengths import strengths
from tests.joints import joint_case
from tests.post.ladders import DUTY, REQUIRED, beyond, rung, unconverged, unjudged

# as the fixture `answers`, its target so wide that nothing is refined
CASE = joint_case("inner-lap", mesh__level=0, mesh__target="50 %")
SOLVED = (AS_IN_CASE, CROSS_PLY, "hoop-biased")


@pytest.fixture(scope="module")
def found() -> tuple[Judged, ...]:
    return judge_layups(CASE, 0, SOLVED)


def made(name, *rungs) -> Judged:
    """Give a layup a made-up ladder."""
    case = joint_case("inner-lap", duty__pressure=None, duty__depth=f"{DUTY:g} m")
    return Judged(name, with_layup(case, name), 1.0, 1.0, tuple(rungs))


def hull(repeats: int, thickness: str, angles=(90, 90, 0)):
    block = {"ply": "carbon-epoxy-im", "thickness": thickness, "angles": list(angles)}
    return joint_case("inner-lap", wall__layup=[{**block, "repeats": repeats}])


def metal_walled():
    block = CASE.wall.layup[0].model_copy(update={"ply": "titanium-6al-4v"})
    return CASE.model_copy(update={"wall": CASE.wall.model_copy(update={"layup": (block,)})})


# --- layups ------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMED_LAYUPS)
@pytest.mark.parametrize("case", [CASE, hull(50, "0.3 mm"), hull(7, "1.1 mm", (0,))])
def test_thickness_is_kept_and_plies_are_about_as_thick(case, name):
    wall = with_layup(case, name).wall
    assert wall.thickness == pytest.approx(case.wall.thickness, rel=1e-14)
    (block,) = wall.layup
    assert block.angles == NAMED_LAYUPS[name]
    assert block.ply == case.wall.layup[0].ply
    # rounding to whole units: off by half a unit at most
    units = case.wall.thickness / (len(block.angles) * case.wall.layup[0].thickness)
    assert abs(block.repeats - units) <= 0.5 or block.repeats == 1


@pytest.mark.parametrize("name", NAMED_LAYUPS)
def test_nothing_but_the_layup_changes(name):
    laid = with_layup(CASE, name)
    same = laid.model_copy(update={"wall": laid.wall.model_copy(update={"layup": ()})})
    other = CASE.model_copy(update={"wall": CASE.wall.model_copy(update={"layup": ()})})
    assert same.model_dump() == other.model_dump()


def test_named_angles_are_what_their_names_say():
    """Equal moduli in the surface of a quasi-isotropic layup: Tsai & Hahn 1980 (from memory)."""
    shares = {n: {abs(a): 0.0 for a in angles} for n, angles in NAMED_LAYUPS.items()}
    for name, angles in NAMED_LAYUPS.items():
        for angle in angles:
            shares[name][abs(angle)] += 1 / len(angles)
            assert angles.count(angle) == angles.count(-angle) or angle in (0, 90)
    assert shares["quasi-isotropic"] == {90: 0.25, 45: 0.5, 0: 0.25}
    assert shares["cross-ply with \u00b145"][45] == pytest.approx(1 / 3)
    assert shares["hoop-biased"][90] == pytest.approx(2 / 3)
    for name in ("quasi-isotropic", CROSS_PLY):
        E_z, E_t = stiffness(with_layup(CASE, name))
        assert E_z == pytest.approx(E_t, rel=1e-12)
    E_z, E_t = stiffness(with_layup(CASE, "hoop-biased"))
    assert E_t > 1.5 * E_z


def test_case_itself_comes_back():
    assert with_layup(CASE, AS_IN_CASE) is CASE


def test_a_wall_without_fibres_is_refused():
    case = metal_walled()
    assert with_layup(case, AS_IN_CASE) is case
    with pytest.raises(CaseError, match="no fibre direction"):
        with_layup(case, CROSS_PLY)


# --- ladders -----------------------------------------------------------------------------------


def test_ladder_as_in_the_case_is_the_judges_own(found, answers):
    own = judge(*answers, strengths(CASE), CASE.mesh.target)
    assert [repr(r) for r in found[0].rungs] == [repr(r) for r in own]  # NaN compare by their name


def test_layups_of_the_same_plies_share_a_ladder_and_others_do_not(found):
    by_name = {one.name: one for one in found}
    assert by_name["hoop-biased"].rungs is by_name[AS_IN_CASE].rungs
    assert twin_words(found) == ["Hoop-biased has the same plies as the layup of the case."]
    first, cross = (by_name[n].by_mode["wall", "fibre kinking"] for n in (AS_IN_CASE, CROSS_PLY))
    assert abs(first.ratio - cross.ratio) > first.ratio_error + cross.ratio_error


def test_table_and_pivot_hold_every_rung(found):
    table = layups_table(found)
    assert len(table) == sum(len(one.rungs) for one in found)
    wide = ratios(table)
    assert list(wide.columns) == list(SOLVED)
    for one in found:
        for each in one.rungs:
            np.testing.assert_equal(wide.loc[mode_key(each), one.name], each.ratio)
    assert list(table[table["governs"] == "yes"]["layup"]) == list(SOLVED)


def test_a_card_that_is_not_judged_keeps_its_own_row():
    mixed = made(
        AS_IN_CASE,
        rung("maximum stress: fibre compressed", "wall", 4000.0),
        unjudged("maximum stress: glass-epoxy"),
    )
    wide = ratios(layups_table([mixed, made(CROSS_PLY, rung("maximum stress", "wall", 4200.0))]))
    assert list(wide.index) == [("wall", "maximum stress"), ("wall", "maximum stress: glass-epoxy")]
    assert wide.loc[("wall", "maximum stress")].tolist() == pytest.approx([4 / 3, 1.4])
    assert wide.loc[("wall", "maximum stress: glass-epoxy")].isna().all()


# --- words -------------------------------------------------------------------------------------


def test_ratios_differ_only_beyond_both_errors():
    base = rung(depth=3000.0, error=30.0)  # 1.000 and 0.010
    assert differs(base, rung(depth=3059.0, error=30.0)) == 0
    assert differs(base, rung(depth=3063.0, error=30.0)) == -1
    assert differs(rung(depth=3063.0, error=30.0), base) == 1
    assert differs(beyond(), base) == 1
    assert differs(beyond(), beyond()) == differs(unjudged(), base) == 0
    assert differs(replace(base, ratio_error=math.inf), beyond()) == 0
    assert differs(replace(beyond(), pressure=30.7), base) == 1  # 30.30 and 0.30 MPa
    assert differs(replace(beyond(), pressure=30.7, error=0.1), base) == 0


def test_no_layup_is_deepest_within_the_errors():
    two = [made(CROSS_PLY, rung(depth=3000.0)), made("\u00b155", rung(depth=3030.0))]
    assert deepest_words(two).startswith("No layup goes deeper")
    three = [*two, made("hoop-biased", rung(depth=2000.0))]
    assert [one.name for one in settled(three)] == [CROSS_PLY, "\u00b155"]
    assert deepest_words(three) == (
        "Deepest, with no difference beyond the numerical error, go cross-ply and \u00b155: "
        "3,000 to 3,030 m."
    )
    clear = [*three, made("quasi-isotropic", rung(depth=4500.0, error=3.0))]
    assert deepest_words(clear).startswith("Quasi-isotropic goes deepest: first failure at 4,500 m")
    safe = [*clear, made(AS_IN_CASE, beyond())]
    assert deepest_words(safe).startswith("The layup of the case is not brought to first failure")


def test_gains_and_losses_follow_the_numbers():
    cross = made(
        CROSS_PLY,
        rung("fibre kinking", "wall", 4000.0),
        rung("between the plies", "wall", 3000.0),
        rung("peel and shear", "inner bond", 5000.0),
        unjudged("between the fibres (Puck)"),
        rung("yield", "ring", 9000.0),  # no shear-driven mode
    )
    other = made(
        "quasi-isotropic",
        rung("fibre kinking", "wall", 3500.0),
        rung("between the plies", "wall", 3600.0),
        rung("peel and shear", "inner bond", 5010.0),
        rung("between the fibres (Puck)", "wall", 3000.0),
        rung("yield", "ring", 4000.0),
    )
    assert trade_words([cross, other]) == [
        "Against quasi-isotropic, cross-ply gains in wall, fibre kinking "
        "(1.333 \u00b1 0.007 against 1.167 \u00b1 0.007) and loses in wall, between the plies "
        "(1.000 \u00b1 0.007 against 1.200 \u00b1 0.007); no difference beyond the numerical "
        "error: inner bond, peel and shear; not judged in both: wall, between the fibres (Puck)."
    ]
    assert trade_words([other]) == []
    assert governing_words([cross, other]).startswith("The layup decides")
    assert governing_words([cross, cross]) == (
        "The same goes first in every layup: wall, between the plies."
    )


def test_what_is_not_converged_is_said():
    assert ", not converged)." in layup_words(made(CROSS_PLY, unconverged(depth=3000.0)))


def test_a_ratio_is_shown_on_its_own_side_of_what_is_required():
    assert float(ratio_text(rung(depth=4499.999), REQUIRED).split()[0]) < REQUIRED
    assert ratio_text(rung(depth=4500.0), REQUIRED).startswith("1.500 ")
    assert ratio_text(beyond(), REQUIRED) == "not reached"


def test_words_of_solved_ladders_hold_their_numbers(found):
    for one in found:
        assert f"{math.floor(one.first.depth):,} m" in layup_words(one)
        assert one.first.depth == min(r.depth for r in one.rungs if not math.isnan(r.depth))
    best = settled(found)
    deepest = max(found, key=lambda one: one.first.depth)
    assert deepest.name in {one.name for one in best}
    (against,) = [s for s in trade_words(found) if s.startswith("Against the layup of the case")]
    gained, _, lost = against.partition(" loses in ")
    for pair, sign in ((gained, 1), (lost.partition("; no")[0], -1)):
        for a, b in re.findall(r"\(([\d.]+) \u00b1 [\d.]+ against ([\d.]+) \u00b1", pair):
            assert sign * (float(a) - float(b)) > 0


# --- page --------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(20))
def test_marks_in_a_lane_never_touch(seed):
    across = np.sort(np.random.default_rng(seed).uniform(0, 300, 40))
    chosen = np.array(lanes(across.tolist()))
    for lane in set(chosen):
        assert (np.diff(across[chosen == lane]) >= ALONE).all()


def test_chart_marks_stand_at_their_depths(found):
    svg = draw_layups(found, DUTY, REQUIRED)
    lettered = re.findall(r"<title>([^<]*)</title>.*?<text x=\"([\d.]+)\"[^>]*>(\w+)<", svg)
    numbered = [r for one in found for r in one.rungs if not math.isnan(r.depth)]
    assert len(lettered) == len(numbered)
    named = letters(found)
    assert len(set(named.values())) == len(named)
    depths, places = [], []
    for words, x, _ in lettered:
        if match := re.search(r": ([\d,]+) m, ratio", words):
            depths.append(float(match[1].replace(",", "")))
            places.append(float(x))
    slope, start = np.polyfit(depths, places, 1)
    np.testing.assert_allclose(np.polyval([slope, start], depths), places, atol=0.2)


def test_table_frames_the_governing_mode_and_marks_the_best(found):
    for i, one in enumerate(found):
        framed = [row for row in rows(found) if row.cells[i].governs]
        assert [(row.part, row.mode) for row in framed] == [mode_key(one.first)]
    for row in rows(found):
        values = [one.by_mode[row.part, row.mode].ratio for one in found]
        best = [v for v, cell in zip(values, row.cells, strict=True) if cell.best]
        assert not best or max(values) in best


def test_page_stands_alone_and_holds_table_and_chart(found):
    class Reader(HTMLParser):
        links: tuple[str, ...] = ()

        def handle_starttag(self, tag, attrs):
            self.links += tuple(v for k, v in attrs if k in ("href", "src"))

    page = render(CASE, found)
    reader = Reader()
    reader.feed(page)
    assert reader.links
    assert all(link.startswith("data:") for link in reader.links)
    assert page.count("<svg") == 1 + len(letters(found))
    for sentence in (deepest_words(found), governing_words(found)):
        assert sentence in page


def test_page_and_table_are_written(found, tmp_path, monkeypatch):
    asked = []
    monkeypatch.setattr(
        "post.layups_page.judge_layups", lambda case, level: asked.append(level) or found
    )
    write_layups(CASE, tmp_path / "layups.html", tmp_path / "layups.csv")
    assert asked == [CASE.mesh.level]
    assert len((tmp_path / "layups.csv").read_text().splitlines()) == 1 + len(layups_table(found))
    assert "</html>" in (tmp_path / "layups.html").read_text()
