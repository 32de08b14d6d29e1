"""Load and mark on a strip: columns follow from its scale, 160 psi to either side, ours."""

import pytest
from msgspec.structs import replace

from ramphold.core import Cue, CueKind, RunPlan, RunState, Tracker
from ramphold.testing.runs import GOOD_RUN, drawn
from ramphold_tui.view.glyphs import UNICODE
from ramphold_tui.view.pursuit_strip import pace_row, pursuit_strip, strip_row

# A minute into a run at 4000 psi.
TRACKER = Tracker(RunPlan(target_psi=4000.0), t_ns=0)
for reading in drawn(GOOD_RUN):
    if reading.t_ns <= 60_000_000_000:
        TRACKER.feed(reading)
RAMP = TRACKER.snapshot()
CUE = Cue(
    t_ns=0,
    kind=CueKind.SQUEEZE,
    mark_psi=1000.0,
    load_psi=920.0,
    # 2000 psi/min are 100 psi in 3 s: the mark goes on evenly for two, then falls behind by 80.
    ahead_psi=(1000 + 100 / 3, 1000 + 200 / 3, 1020.0),
    pace=1.5,
)
COLUMNS = 81  # 40 to either side: 4 psi a column


def strip(**changes):
    return pursuit_strip(replace(RAMP, cue=CUE, **changes), COLUMNS)


def test_the_mark_is_in_the_middle_and_the_load_as_far_off_as_the_scale_says():
    assert (strip().mark, strip().load, strip().cell_psi) == (40, 20, 4.0)


def test_a_load_beyond_the_scale_stands_at_its_end():
    far = pursuit_strip(replace(RAMP, cue=replace(CUE, load_psi=400.0)), COLUMNS)
    assert far.load == 0


def test_a_mark_that_goes_on_evenly_stays_in_the_middle_and_one_that_slows_moves_left():
    assert strip().ahead == (40, 40, 20)
    assert strip_row(strip(), -1, UNICODE).index(UNICODE.line) == 40
    assert strip_row(strip(), -3, UNICODE).index(UNICODE.line) == 20
    assert strip_row(strip(), -4, UNICODE).strip() == ""


def test_rows_below_show_where_the_load_was():
    past = strip(line_psi=1000.0, past_psi=(920.0, 1000 - 100 / 3, 1000 - 200 / 3 + 40))
    assert past.past == (20, 40, 50)
    assert strip_row(past, 1, UNICODE).index(UNICODE.full) == 40
    assert strip_row(past, 3, UNICODE).strip() == ""


@pytest.mark.parametrize(("pace", "column"), [(0.5, 20), (1.0, 40), (1.5, 60), (9.0, 80)])
def test_the_dial_has_the_even_pull_in_its_middle(pace, column):
    dial = pace_row(pursuit_strip(replace(RAMP, cue=replace(CUE, pace=pace)), COLUMNS), UNICODE)
    assert dial.index(UNICODE.full) == column
    assert len(dial) == COLUMNS


def test_without_a_pace_the_dial_says_that_the_lever_rests():
    resting = pursuit_strip(replace(RAMP, cue=replace(CUE, pace=None)), COLUMNS)
    assert pace_row(resting, UNICODE).strip() == "lever rests"


def test_under_a_word_that_says_not_to_pull_the_dial_asks_for_no_pace():
    resting = pursuit_strip(replace(RAMP, cue=CUE), COLUMNS, rests=True)
    assert pace_row(resting, UNICODE).strip() == "lever rests"


@pytest.mark.parametrize("state", [RunState.READY, RunState.SEATING, RunState.RELEASE])
def test_there_is_no_strip_without_a_line(state):
    assert strip(state=state) is None
