"""The tables by slope, from made-up walks of which the answers are known."""

import math

import pytest

from experiments.window_by_slope import run
from sim.scenario import Scenario, replace_by_name
from sim.window import RESISTANCE, find_windows
from tests.unit.made_up_walks import FELL, GOOD, rate, stiff


def walk(cells):
    """Falls below 20 N m s/rad; first peak falls with resistance and grows with the step and its unevenness."""
    rows = []
    for cell in cells:
        at, scenario = cell[RESISTANCE], replace_by_name(Scenario(), cell)
        row = dict.fromkeys(run.SHOWN, 1.0) | GOOD | rate(at) | stiff(120.0)(at)
        if row["outcome"] != "walked":
            rows.append(dict.fromkeys(run.SHOWN, math.nan) | FELL)
            continue
        uneven = abs(scenario.step_lengths[0] - scenario.step_lengths[1])
        peak = 1.0 + 1.0 / at + scenario.mean_step_length + uneven
        rows.append(row | {run.FIRST: peak, run.PEAK: 1.1 + 0.1 * abs(math.log(at / 60.0)), run.LANDING: 1000.0 / at})
    return rows


@pytest.fixture(scope="module")
def found():
    return run.windows(walk)


def test_every_slope_has_a_row_with_both_ends_and_who_closes_them(found):
    lines = run.window_table(found)
    assert len(lines) == 2 + len(run.SLOPES_DEG)
    assert [line.split(" | ")[0] for line in lines[2:]] == [f"| {slope:g}" for slope in run.SLOPES_DEG]
    assert "| 30 | the loaded knee bends too fast |" in lines[4]
    assert all(line.count("|") == lines[0].count("|") for line in lines)
    nothing = find_windows(Scenario(), [{}], lambda cells: [FELL for _ in cells])[0]
    assert "none" in run.window_table([nothing])[2]
    assert run.window_table([nothing])[2].count("|") == lines[0].count("|")


def test_the_peak_is_told_at_both_ends(found):
    line = run.end_values(found[2])
    assert "the walk ends below 20" in line
    assert "1.10 at 6" in line  # least at 60
    assert line.endswith("| 50 | 2 |")  # 1000 / 20 and 1000 / 500 deg


def test_rows_of_the_reference_table_get_their_signs(found):
    for line in run.low_resistance(found):
        assert line.endswith(": as the row says.")
        assert "knee rate +" in line
    for line in run.high_resistance(found):
        assert "knee rate -" in line
        assert "the speed hardly changes" in line  # the made-up speed is the same everywhere
    for line in run.shorter_steps(found, walk):
        assert "steps of 0.40 instead of 0.55 m: first peak of the sound leg -0.15 BW" in line
        assert line.count("larger first peak +0.10 BW (as the row says)") == 2
        assert "(half as the row says)" in line  # the made-up work of the sound leg is the same everywhere

    def other_way(cells):
        return [row | {run.FIRST: 3.0 - row[run.FIRST]} for row in walk(cells)]

    assert all("NOT as the row says" in line for line in run.low_resistance(run.windows(other_way)))


def test_limits_of_other_grids_are_compared(found):
    (line, _) = run.limits_repeated(found, walk)
    share = float(line.partition("the largest change of a limit is ")[2].split(" ")[0])
    assert 0.0 <= share < 1.0
    assert "in 0 of 10 cases" in line
    moved = run.limits_repeated(found, lambda cells: walk([c | {RESISTANCE: c[RESISTANCE] * 0.9} for c in cells]))
    assert float(moved[0].partition("change of a limit is ")[2].split(" ")[0]) == pytest.approx(11.1, abs=1.0)


def test_the_page_keeps_its_marks_and_has_every_slope():
    page = (run.ROWS.parents[3] / "docs/window.md").read_text(encoding="utf-8")
    made = run.renewed(page, f"{run.BEGIN}\nnew\n{run.END}")
    assert made.count(run.BEGIN) == made.count(run.END) == 1
    with pytest.raises(SystemExit, match="marks"):
        run.renewed(page.replace(run.END, ""), "")
    part = page.partition(run.BEGIN)[2].partition(run.END)[0]
    for slope in run.SLOPES_DEG:
        assert f"\n| {slope:g} |" in part
    for row in ("C01", "C02", "C03", "C08"):
        assert f"**{row}**" in part
