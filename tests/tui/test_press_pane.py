import pytest
from msgspec import structs

from ramphold.control.instrument_methods import InstrumentHealth
from ramphold.control.run_methods import Live, RunVerdict
from ramphold.core import Check, EndRun, Quality, RunPlan, RunState, Tracker, Verdict
from ramphold.testing.runs import GOOD_RUN, drawn
from ramphold.wire import RunRecord
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.press_banner import banner
from ramphold_tui.view.press_pane import press_view, status_view, strip_view
from ramphold_tui.view.pursuit_strip import pursuit_strip

PLAN = RunPlan(target_psi=4000.0)
HEARD_NS = 5_000_000_000
RECORD = RunRecord(
    id=7, specimen=3, operator="KL", plan=PLAN, state=RunState.COMPLETE, reason="",
    started_t_ns=0, started_utc_ns=0, ended_t_ns=1, ended_utc_ns=1, assessment=None,
)  # fmt: skip


def run_at(t_s, corners=GOOD_RUN, *, end=None):
    """The bench as the screen knows it when a drawn run has come to a time."""
    tracker, newest = Tracker(PLAN, t_ns=0), None
    for newest in drawn(corners):
        if newest.t_ns > t_s * 1e9:
            break
        tracker.feed(newest)
    if end:
        tracker.command(EndRun(reason=end), newest.t_ns)
    live = Live(
        t_ns=newest.t_ns,
        reading_t_ns=newest.t_ns,
        force_lbf=newest.force_lbf,
        quality=Quality.GOOD,
        run=None if tracker.ended else 7,
        # What the pacing makes of it is another matter.
        snapshot=structs.replace(tracker.snapshot(), cue=None),
    )
    return BenchState(live=live, heard_ns=HEARD_NS)


def with_verdict(bench, worst=None):
    verdict = Verdict.PASS if worst is None else Verdict.FAIL
    return changed(bench, verdict=RunVerdict(run=7, verdict=verdict, worst=worst))


def changed(bench, **fields):
    return structs.replace(bench, live=structs.replace(bench.live, **fields))


@pytest.mark.parametrize(
    ("t_s", "word"),
    [(0.5, "READY"), (2.5, "SEATING"), (60.0, "RAMP"), (150.0, "HOLD"), (241.9, "RELEASE")],
)
def test_the_biggest_word_is_where_the_run_stands(t_s, word):
    assert banner(run_at(t_s), HEARD_NS).word == word


def test_a_finished_run_says_what_comes_next():
    bench = run_at(244.5)
    shown = banner(with_verdict(bench), HEARD_NS)
    assert (shown.word, shown.detail) == (
        "PASSED",
        "the run is recorded; every check is within its limit",
    )
    assert shown.next == "empty the cell, sieve the specimen, weigh the pan"


def test_a_failed_run_says_its_worst_figure_and_what_follows():
    worst = Check(name="hold time", value=68.2, unit="s", limit=(119.0, 130.0), passed=False)
    shown = banner(with_verdict(run_at(244.5), worst), HEARD_NS)
    assert (shown.word, shown.detail) == ("FAILED", "hold 68 s, 119 to 130 allowed")
    assert shown.next.startswith("decide whether it counts (W, then D)")
    assert "no sieving before that" in shown.next


@pytest.mark.parametrize(
    ("check", "words"),
    [
        (("hold time", 68.2, "s", (119.0, 130.0)), "hold 68 s of 120"),
        (("overshoot", 3.14, "%", (None, 2.0)), "overshoot 3.1 %, at most 2"),
        (("ramp rate", 3828.0, "psi/min", (1800.0, 2200.0)),
         "ramp rate 3 828 psi/min, 1 800 to 2 200 allowed"),
        (("ramp rate", None, "psi/min", (1800.0, 2200.0)), "ramp rate could not be measured"),
        (("calibration", -3.0, "d", (0.0, None)), "calibration -3 d, at least 0"),
        (("jumps of the load", 2.0, "", (None, 0.0)), "jumps of the load 2, at most 0"),
    ],
)  # fmt: skip
def test_the_worst_figure_stands_beside_its_limit(check, words):
    name, value, unit, limit = check
    worst = Check(name=name, value=value, unit=unit, limit=limit, passed=False)
    bench = structs.replace(with_verdict(run_at(244.5), worst), record=RECORD)
    assert banner(bench, HEARD_NS).detail == words


def test_a_run_that_was_ended_says_why():
    bench = changed(run_at(60.0, end="wrong cell"), force_lbf=0.0)
    shown = banner(bench, HEARD_NS)
    assert (shown.word, shown.detail) == ("ENDED", "the run is over: ended: wrong cell")


def test_load_after_a_run_is_released_fully_before_anything_else():
    bench = with_verdict(run_at(244.5))
    left = changed(bench, force_lbf=364.0, snapshot=structs.replace(bench.snapshot, rest_lbf=364.0))
    shown = banner(left, HEARD_NS)
    assert (shown.word, shown.next) == ("RELEASE FULLY", "at zero, empty the cell")
    assert shown.detail == "364 lbf left on the cell: bring it down slowly to zero"
    off = changed(bench, force_lbf=4.0, snapshot=structs.replace(bench.snapshot, rest_lbf=4.0))
    assert banner(off, HEARD_NS).word == "PASSED"


@pytest.mark.parametrize(("load_lbf", "word"), [(33.0, "PASSED"), (64.0, "NOT RECORDED")])
def test_noise_after_the_release_is_no_load_without_a_run(load_lbf, word):
    # Fault: a reading just over half a contact, after one just under it, said NOT RECORDED.
    bench = with_verdict(run_at(244.5))
    noisy = structs.replace(bench.snapshot, rest_lbf=30.0)
    shown = banner(changed(bench, force_lbf=load_lbf, snapshot=noisy), HEARD_NS)
    assert shown.word == word


@pytest.mark.parametrize("rest_lbf", [2.0, 364.0])
def test_load_pumped_after_a_run_is_not_recorded(rest_lbf):
    # Fault: at 5 700 lbf the screen said COMPLETE, the run is recorded, next: empty the cell.
    bench = with_verdict(run_at(244.5))
    pumped = changed(
        bench, force_lbf=5700.0, snapshot=structs.replace(bench.snapshot, rest_lbf=rest_lbf)
    )
    shown = banner(pumped, HEARD_NS)
    assert (shown.word, shown.next) == ("NOT RECORDED", "start a run, or release")
    assert shown.detail == "5 700 lbf on the cell, and no run follows it"
    assert [line.text for line in press_view(pumped, HEARD_NS).beside] == ["run 7 passed"]


def test_a_record_ended_under_load_says_that_the_load_is_not_recorded():
    shown = banner(run_at(150.0, end="wrong cell"), HEARD_NS)
    assert shown.word == "NOT RECORDED"


def test_a_disk_that_refuses_is_said_beside_the_cue_and_by_the_word_after_the_run():
    in_hold = changed(run_at(150.0), unwritten="/runs.sqlite3: can't grow: the disk is full")
    assert banner(in_hold, HEARD_NS).word == "HOLD"
    (line,) = press_view(in_hold, HEARD_NS).beside
    assert line.text == "NOT RECORDED: the file can't grow: the disk is full"
    bench = run_at(242.5)
    over = changed(bench, run=None, force_lbf=0.0, unwritten="disk full")
    assert bench.snapshot.state is RunState.RELEASE
    assert banner(over, HEARD_NS).word == "NOT WRITTEN"
    assert "disk full" in banner(over, HEARD_NS).detail


def test_load_and_stress_stand_in_lbf_and_psi():
    # 4000 psi on a 2 in. bore is 12 566 lbf [recomputed in the trade's table].
    view = press_view(run_at(150.0), HEARD_NS)
    assert (view.load, view.stress, view.tone) == ("12 566", "4 000", Tone.CALM)


def test_without_a_run_the_load_stands_alone():
    view = press_view(changed(run_at(60.0), run=None, snapshot=None), HEARD_NS)
    assert view.banner.word == "NOT RECORDED"
    assert view.stress == "--"
    assert view.load != "--"
    assert view.meters == ()


@pytest.mark.parametrize(
    ("behind_psi", "words", "columns"),
    [(-80.0, "80 psi behind", -10), (0.0, "on the line", 0), (1000.0, "1 000 psi ahead", 20)],
)
def test_the_deviation_is_said_and_drawn_to_twice_the_band(behind_psi, words, columns):
    bench = run_at(60.0)
    snapshot = structs.replace(bench.snapshot, deviation_psi=behind_psi, cue=None)
    view = press_view(changed(bench, snapshot=snapshot), HEARD_NS)
    assert view.deviation == words
    strip = pursuit_strip(snapshot, 41)
    assert strip.load - strip.mark == columns


def test_the_hold_bar_says_what_is_held_and_what_is_to_go():
    hold, *_ = press_view(run_at(150.0), HEARD_NS).meters
    # The hold starts at 99 % of target, 1.2 s before the corner at 121 s.
    assert hold.text == "30 s held, 90 s to go"
    assert hold.share == pytest.approx(30.2 / 120, abs=0.01)


def test_a_hold_that_was_let_off_at_once_has_an_empty_bar():
    bench = run_at(150.0)
    none = changed(bench, snapshot=structs.replace(bench.snapshot, hold_s=0.0, hold_to_go_s=0.0))
    assert press_view(none, HEARD_NS).meters[0].share == 0.0


@pytest.mark.parametrize(
    ("force_lbf", "words", "tone"),
    [
        (10_000.0, "12 800 lbf, 2 800 lbf below", Tone.CALM),
        (12_700.0, "12 800 lbf, 100 lbf below", Tone.CAUTION),
        (12_800.0, "12 800 lbf, AT IT", Tone.CAUTION),
        (12_900.0, "12 800 lbf, 100 lbf OVER", Tone.ALARM),
    ],
)
def test_the_ceiling_bar_says_how_much_is_left(force_lbf, words, tone):
    bench = run_at(60.0)
    snapshot = structs.replace(bench.snapshot, force_lbf=force_lbf)
    ceiling = press_view(changed(bench, snapshot=snapshot), HEARD_NS).meters[1]
    assert (ceiling.text, ceiling.tone) == (words, tone)


def test_missing_readings_take_the_word_and_grey_the_values_with_their_age():
    bench = run_at(60.0)
    stale = changed(
        bench,
        t_ns=bench.live.t_ns + 3_000_000_000,
        snapshot=structs.replace(bench.snapshot, stale=True),
    )
    view = press_view(stale, HEARD_NS + 200_000_000)
    assert view.banner.word == "NO READING"
    assert "for 3.2 s" in view.banner.detail
    assert (view.tone, view.caption) == (Tone.FADED, "as of 3.2 s ago")
    # Of a load that is not known nobody can say where it is.
    assert (view.deviation, view.rate) == ("", "")


def test_a_daemon_that_falls_silent_is_seen_by_the_age_of_what_it_said():
    bench = run_at(60.0)
    assert banner(bench, HEARD_NS + 1_900_000_000).word == "RAMP"
    assert banner(bench, HEARD_NS + 2_100_000_000).word == "NO READING"


def test_a_lost_link_takes_the_word_and_greys_the_values():
    bench = structs.replace(run_at(60.0), lost="gone")
    view = press_view(bench, HEARD_NS + 4_000_000_000)
    assert view.banner.word == "NO LINK"
    assert "4.0 s" in view.banner.detail
    assert view.tone is Tone.FADED
    assert view.load != "--"
    assert status_view(bench)[1] == "NO LINK"


def test_a_sensor_at_its_end_is_no_load():
    bench = changed(run_at(60.0), force_lbf=None, quality=Quality.SATURATED)
    view = press_view(bench, HEARD_NS)
    assert view.banner.word == "SATURATED"
    assert (view.load, view.caption) == ("--", "no value: saturated")


def test_a_load_that_moves_is_called_unsteady_only_where_it_has_to_rest():
    # Fault: `unsteady` stood beside the digits of a ramp, where the load has to move.
    bench = changed(run_at(60.0), quality=Quality.UNSTEADY)
    assert bench.running
    assert press_view(bench, HEARD_NS).caption == ""
    assert press_view(changed(bench, run=None), HEARD_NS).caption == "unsteady: still moving"


def test_before_the_daemon_answered_nothing_is_claimed():
    view = press_view(BenchState(), HEARD_NS)
    assert (view.load, view.stress, view.banner.word) == ("--", "--", "LINKING")


def test_elsewhere_the_press_is_one_line():
    word, load, tone = strip_view(run_at(60.0), HEARD_NS)
    assert (word, load, tone) == (
        "press, ramp: RAMP",
        "6 168 lbf   1 963 psi   on the line",
        Tone.ACT,
    )


def test_without_a_link_the_line_has_an_age_in_the_place_of_digits():
    lost = structs.replace(run_at(60.0), lost="gone")
    assert strip_view(lost, HEARD_NS + 12_300_000_000) == (
        "press, ramp: NO LINK",
        "all as of 12 s ago",
        Tone.CAUTION,
    )


def test_an_instrument_that_does_not_work_is_named():
    bad = InstrumentHealth(name="balance", kind="balance", ok=False, text="silent")
    assert (
        status_view(structs.replace(run_at(60.0), instruments=(bad,)))[1] == "NOT WORKING: balance"
    )


def test_after_the_hold_there_is_no_line_to_be_behind():
    view = press_view(run_at(244.5), HEARD_NS)
    assert (view.deviation, view.line, view.rate) == ("", "", "")
