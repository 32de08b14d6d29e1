"""The table of run states, swept whole: every state against every trigger."""

import itertools

import pytest

from ramphold.core import ENDED, RunState, Trigger, next_state
from ramphold.errors import TransitionError

# Written out by hand from the course of a crush test, independently of the program's table.
WAYS = {
    ("ready", "contact"): "seating",
    ("ready", "ended"): "stopped",
    ("ready", "daemon died"): "interrupted",
    ("seating", "contact lost"): "ready",
    ("seating", "seated"): "ramp",
    ("seating", "ended"): "stopped",
    ("seating", "daemon died"): "interrupted",
    ("ramp", "target held"): "hold",
    ("ramp", "released"): "stopped",
    ("ramp", "ended"): "stopped",
    ("ramp", "daemon died"): "interrupted",
    ("hold", "hold up"): "release",
    ("hold", "released"): "stopped",
    ("hold", "ended"): "stopped",
    ("hold", "daemon died"): "interrupted",
    ("release", "released"): "complete",
    ("release", "ended"): "stopped",
    ("release", "daemon died"): "interrupted",
}


@pytest.mark.parametrize(("state", "trigger"), [*itertools.product(RunState, Trigger)])
def test_every_pair_of_state_and_trigger_leads_where_it_should_or_raises(state, trigger):
    expected = WAYS.get((state, trigger))
    if expected is None:
        with pytest.raises(TransitionError):
            next_state(state, trigger)
    else:
        assert next_state(state, trigger) == expected


def test_complete_is_reached_only_through_hold_and_release():
    assert {pair for pair, after in WAYS.items() if after == "complete"} == {
        ("release", "released")
    }
    assert {pair for pair, after in WAYS.items() if after == "release"} == {("hold", "hold up")}


def test_nothing_leaves_an_ended_state():
    assert {RunState.COMPLETE, RunState.STOPPED, RunState.INTERRUPTED} == ENDED
