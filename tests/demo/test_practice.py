"""An exercise at the lever: its order, its runs, and how its result is shown.

Expected figures follow from the definitions beside them; how an exercise is drawn up is ours.
"""

import asyncio
import statistics
from xml.etree import ElementTree as ET

import pytest
from msgspec import structs

from ramphold.control import run_methods
from ramphold.core import RunState
from ramphold.demo import Exercise, drawn_order, practise_once
from ramphold.errors import CommandRefused
from ramphold.report.practice import (
    LEVER_BRIEF,
    LEVER_SHOWS,
    LEVER_USE,
    Lever,
    Practice,
    PracticeRun,
    practice_html,
    practice_lines,
)
from ramphold.store import Store

CUES, GAUGE = "cues", "gauge"
EXERCISE = Exercise(person="KL", target_psi=1000.0, seed=3, speed=None)


def run(screen, rms_pct, overshoot_pct=0.5, hold_off_s=1.0, verdict="pass"):
    return PracticeRun(
        cued=screen == CUES,
        rms_pct=rms_pct,
        overshoot_pct=overshoot_pct,
        hold_off_s=hold_off_s,
        verdict=verdict,
    )


def practice(*runs):
    return Practice(
        person="K<L",
        utc_ns=1_767_261_600 * 10**9,
        target_psi=4000.0,
        lever=Lever.WHEEL,
        seed=7,
        planned=len(runs),
        runs=runs,
    )


def test_as_many_runs_have_cues_as_have_none_and_a_seed_gives_one_order():
    orders = {drawn_order(seed, 3) for seed in range(200)}

    assert all(order.count(True) == order.count(False) == 3 for order in orders)
    assert len(orders) == 20, "each of the 6 over 3 orders comes up"
    assert drawn_order(11, 3) == drawn_order(11, 3)


def test_the_table_has_a_row_a_run_and_a_mean_of_each_kind():
    lines = list(practice_lines(practice(run(CUES, 0.4), run(GAUGE, 1.5), run(CUES, 0.8))))

    assert [line.split()[0] for line in lines] == ["run", "1", "2", "3", "mean", "mean", "lever:"]
    without, cued = lines[-3], lines[-2]
    assert "1.50" in without
    assert f"{statistics.fmean([0.4, 0.8]):.2f}" in cued
    assert cued.endswith("2 of 2 pass")


def test_the_table_fits_a_row_of_80_and_says_why_a_run_failed():
    # Fault: its head was wrapped on the smallest usual terminal, and `fail` stood alone.
    failed = structs.replace(
        run(GAUGE, 116.03, 13.8, -93.2, "fail"), failed=("overshoot", "out of band")
    )
    lines = list(practice_lines(practice(run(CUES, 0.4), failed)))
    table = [line for line in lines if line.split()[0] in {"run", "1", "2", "mean"}]
    assert max(map(len, table)) <= 80
    assert "run 2 failed: overshoot, out of band" in lines


def test_a_run_that_never_reached_its_target_has_no_rms_and_counts_in_no_mean():
    lines = list(practice_lines(practice(run(CUES, None, verdict="fail"), run(CUES, 0.8))))

    assert lines[1].split()[3] == "-"
    assert "0.80" in lines[-2]
    assert lines[-2].endswith("1 of 2 pass")


def test_what_a_lever_can_not_show_stands_under_the_table_on_the_page_and_fits_a_row():
    shown = structs.replace(practice(run(CUES, 0.4)), lever=Lever.KEY)
    for text in ("\n".join(practice_lines(shown)), practice_html(shown)):
        assert "shows when you pull, not how hard" in text
        assert "runs on for 0.6 s" in text
    for lever in Lever:
        assert len(LEVER_BRIEF[lever]) <= 78
        assert LEVER_USE[lever]
        assert LEVER_SHOWS[lever]


def test_a_run_on_a_computer_that_was_too_busy_for_real_time_is_said_to_show_nothing():
    slow, well = (structs.replace(run(CUES, 0.4), speed=speed) for speed in (0.25, 0.99))
    *_, note = list(practice_lines(practice(well, slow)))
    assert note.startswith("note: run 2 went at 25 % of real time")
    assert note.endswith("it shows nothing of a hand")
    assert not any("real time" in line for line in practice_lines(practice(well)))


def test_an_exercise_that_was_left_and_a_lever_that_was_silent_are_noted():
    silent = structs.replace(run(CUES, 0.4), silent_s=3.24)
    left = structs.replace(practice(run(GAUGE, 1.0), silent), planned=6)
    *_, lever, left_early = list(practice_lines(left))
    assert lever == "note: in run 2 the lever gave no reading for 3.2 s"
    assert left_early == "note: left after 2 of 6 runs"


def test_the_page_has_a_dot_for_each_figure_of_each_run_and_escapes_a_name():
    page = practice_html(practice(run(CUES, 0.4), run(GAUGE, None), run(GAUGE, 2.0)))
    figure = page[page.index("<svg") : page.index("</svg>") + len("</svg>")]

    dots = ET.fromstring(figure).findall("circle")  # noqa: S314 - our own page
    assert len(dots) == 3 * 3 - 1
    assert "K<L" not in page
    assert "K&lt;L" in page


@pytest.mark.slow
def test_a_run_by_hand_is_judged_by_its_own_assessment(tmp_path):
    async def squeeze_hold_release(bench, cued):
        assert cued
        act, seen_ns = run_methods.PumpAction, 0
        while bench.daemon.press.live:
            snapshot = bench.daemon.press.snapshot().snapshot
            if snapshot.t_ns == seen_ns:
                await asyncio.sleep(0.005)
                continue
            seen_ns = snapshot.t_ns
            aim_psi = min(EXERCISE.target_psi, snapshot.line_psi or EXERCISE.target_psi)
            if snapshot.state is RunState.RELEASE:
                await bench.ask(run_methods.PUMP, act=act.RELEASE)
            elif (snapshot.stress_psi or 0.0) < aim_psi:
                await bench.ask(run_methods.PUMP, act=act.SLIP)

    done = asyncio.run(practise_once(tmp_path, EXERCISE, cued=True, show=squeeze_hold_release))

    with Store.open(tmp_path / "runs.sqlite3") as store:
        (stored,) = store.runs.page()
    assert stored.operator == "KL"
    assert stored.state is RunState.COMPLETE
    assert done.rms_pct == pytest.approx(stored.assessment.ramp_rms_psi / 1000 * 100)
    assert done.hold_off_s == pytest.approx(stored.assessment.hold_s - 120)
    assert (done.overshoot_pct, done.verdict) == (
        stored.assessment.overshoot_pct,
        stored.assessment.verdict,
    )


def test_a_run_left_before_its_ramp_ended_is_no_result(tmp_path):
    async def leave(bench, cued):
        del bench, cued

    with pytest.raises(CommandRefused, match="before its ramp did"):
        asyncio.run(practise_once(tmp_path, EXERCISE, cued=False, show=leave))
