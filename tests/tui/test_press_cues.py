import pytest
from msgspec.structs import replace

from ramphold.control.run_methods import Live
from ramphold.core import Cue, CueKind, Quality, RunPlan, RunState, Tracker
from ramphold.testing.runs import GOOD_RUN, drawn
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.glyphs import big
from ramphold_tui.view.press_banner import banner
from ramphold_tui.view.press_pane import press_view
from ramphold_tui.view.pursuit_strip import pursuit_strip


@pytest.fixture(scope="module")
def snapshot():
    """A run of 4000 psi at 60 s of its ramp."""
    tracker = Tracker(RunPlan(target_psi=4000.0), t_ns=0)
    for reading in drawn(GOOD_RUN):
        if reading.t_ns <= 60e9:
            tracker.feed(reading)
    return tracker.snapshot()


def cue(kind, **more):
    return Cue(t_ns=0, kind=kind, **more)


def cue_banner(given, snapshot):
    """What is said of a cue in a run that goes on."""
    snapshot = replace(snapshot, cue=given)
    live = Live(
        t_ns=snapshot.t_ns,
        reading_t_ns=snapshot.t_ns,
        force_lbf=snapshot.force_lbf,
        quality=Quality.GOOD,
        run=7,
        snapshot=snapshot,
    )
    return banner(BenchState(live=live, heard_ns=0), 0)


@pytest.mark.parametrize(
    ("size", "word"),
    [(1.0, "FULL STROKE"), (0.5, "1/2 STROKE"), (0.25, "1/4 STROKE"), (1 / 16, "1/16 STROKE")],
)
def test_a_stroke_says_how_far(snapshot, size, word):
    shown = cue_banner(cue(CueKind.STROKE, size=size, after_psi=2100.0), snapshot)
    # 2100 psi on pi in2 is 6597 lbf.
    assert (shown.word, shown.detail) == (word, "up to about 2 100 psi, 6 597 lbf")
    assert shown.tone is Tone.ACT


def test_a_wait_says_what_comes_and_counts_down_to_it(snapshot):
    waiting = cue(CueKind.WAIT, size=0.25, due_s=2.4, after_psi=2100.0)
    shown = cue_banner(waiting, snapshot)
    assert shown.word == "WAIT"
    assert shown.detail == "1/4 stroke in 3 s, up to about 2 100 psi, 6 597 lbf"
    assert (shown.tone, shown.due_s) == (Tone.CALM, 2.4)


@pytest.mark.parametrize("due_s", [None, 0.0, 12.0])
def test_what_is_due_now_or_far_off_has_no_countdown_to_watch(snapshot, due_s):
    assert cue_banner(cue(CueKind.WAIT, due_s=due_s), snapshot).due_s is None


@pytest.mark.parametrize(
    ("load_psi", "words"),
    [
        (1990.0, "a slow, even pull: keep this pace"),
        (1950.0, "a slow, even pull: a little faster"),
        (2050.0, "a slow, even pull: a little slower"),
    ],
)
def test_a_squeeze_says_how_to_meet_the_mark(snapshot, load_psi, words):
    squeeze = cue(CueKind.SQUEEZE, mark_psi=2000.0, load_psi=load_psi)
    shown = cue_banner(squeeze, snapshot)
    assert (shown.word, shown.detail) == ("SQUEEZE", words)


def test_the_bar_of_a_squeeze_is_what_the_hand_can_still_change(bench, snapshot):
    bench.feed_until(60)
    squeeze = cue(CueKind.SQUEEZE, mark_psi=2000.0, load_psi=1920.0)
    live = replace(bench.live(), snapshot=replace(snapshot, cue=squeeze))
    strip = pursuit_strip(live.snapshot, 41)
    # 80 of the 160 psi of full deflection; what it is off by now stands in words.
    assert strip.load - strip.mark == -10
    assert press_view(BenchState(live=live, heard_ns=0), 0).deviation == "on the line"


def test_in_the_hold_the_cue_says_what_is_left_of_it(bench):
    bench.feed_until(150)
    snapshot = bench.live().snapshot
    assert snapshot.state is RunState.HOLD
    shown = cue_banner(cue(CueKind.WAIT), snapshot)
    assert (shown.word, shown.detail) == (
        "90 s",
        "nothing to do, the load is at 4 000 psi",
    )
    shown = cue_banner(cue(CueKind.STOP, after_psi=4000.0), snapshot)
    assert shown.word == "STOP"
    assert shown.detail.startswith("90 s to go: stop pulling: rests at about")


@pytest.mark.parametrize(
    ("kind", "more", "word"),
    [
        # Fault: 1 139 psi ahead the screen said RETURN LEVER, then pull on.
        (CueKind.RETURN_LEVER, {}, "SLOWER"),
        (CueKind.SQUEEZE, {"mark_psi": 3000.0, "load_psi": 3000.0}, "SLOWER"),
        (CueKind.PULL_ON, {}, "SLOWER"),
        (CueKind.STROKE, {"size": 0.25, "load_psi": 3000.0, "after_psi": 3240.0}, "WAIT"),
        (CueKind.WAIT, {}, "WAIT"),
        (CueKind.STOP, {}, "STOP"),
    ],
)
def test_far_ahead_of_the_line_no_word_asks_for_a_pull(snapshot, kind, more, word):
    ahead = replace(snapshot, deviation_psi=1139.0, rate_psi_min=3828.0)
    shown = cue_banner(cue(kind, **more), ahead)
    assert shown.word == word
    assert "pull on" not in shown.detail


def test_a_load_far_behind_the_mark_is_pulled_faster_by_a_word_of_its_own(snapshot):
    squeeze = cue(CueKind.SQUEEZE, mark_psi=2000.0, load_psi=1900.0)
    assert cue_banner(squeeze, replace(snapshot, deviation_psi=-120.0)).word == "FASTER"
    # The mark may be ahead of a load that is ahead of the line.
    assert cue_banner(squeeze, replace(snapshot, deviation_psi=20.0)).word == "SQUEEZE"


def test_near_the_ceiling_is_said_in_the_cues_line(snapshot):
    shown = cue_banner(cue(CueKind.STOP, after_psi=4090.0, near_ceiling=True), snapshot)
    assert shown.word == "STOP"
    assert shown.detail.startswith("near ceiling: stop pulling: rests at about 4 0")
    assert shown.tone is Tone.CAUTION


def test_a_load_over_the_ceiling_is_not_called_near_it(snapshot):
    over = replace(snapshot, force_lbf=snapshot.ceiling_lbf + 1.0)
    shown = cue_banner(cue(CueKind.STOP, after_psi=4090.0, near_ceiling=True), over)
    assert shown.detail.startswith("over ceiling: stop pulling")
    at_it = replace(snapshot, force_lbf=snapshot.ceiling_lbf)
    shown = cue_banner(cue(CueKind.STOP, after_psi=4090.0, near_ceiling=True), at_it)
    assert shown.detail.startswith("near ceiling: stop pulling")


@pytest.mark.parametrize("kind", CueKind)
@pytest.mark.parametrize("state", RunState)
def test_every_cue_has_a_word_that_fits_a_narrow_screen(snapshot, kind, state):
    given = cue(kind, size=1 / 16, due_s=2.0, after_psi=14_000.0, mark_psi=14_000.0, load_psi=0.0)
    shown = cue_banner(given, replace(snapshot, state=state, hold_to_go_s=119.0))
    assert len(big(shown.word, "#")[0]) <= 78


OPENING = ("open", "valve", "let go", "drop", "bleed", "relieve", "release", "down")


@pytest.mark.parametrize("kind", sorted(set(CueKind) - {CueKind.RELEASE, CueKind.OPEN_VALVE}))
def test_only_the_last_two_cues_can_be_taken_for_opening_the_valve(snapshot, kind):
    shown = cue_banner(cue(kind, size=0.5, due_s=2.0, after_psi=2000.0), snapshot)
    said = f"{shown.word} {shown.detail}".lower()
    assert not [word for word in OPENING if word in said]
