"""What the runs of a person on a press taught: the newest that nobody made forgotten."""

import pytest

from ramphold.core import EndRun, HandLearned, PacingStart, RunPlan, Tracker
from ramphold.sample import HandForgotten
from ramphold.testing.runs import GOOD_RUN, drawn
from support.specimens import add_specimen

PLAN = RunPlan(target_psi=4000)


def taught(store, operator, press, gain_factor):
    """A run by a person on a press, and what it taught."""
    specimen = add_specimen(store, press=press).specimen
    run = store.runs.begin(specimen=specimen, operator=operator, plan=PLAN, t_ns=0, utc_ns=5)
    tracker, readings = Tracker(PLAN, t_ns=0), drawn(GOOD_RUN, per_s=1)[:10]
    events = [event for one in readings for event in tracker.feed(one)]
    events += tracker.command(EndRun(reason="enough"), 20_000_000_000)
    learned = HandLearned(
        t_ns=20_000_000_000, start=PacingStart(gain_factor=gain_factor), cues=5, said_again=1
    )
    store.runs.end(
        run, readings=readings, events=[*events, learned], assessment=tracker.assess(),
        utc_ns=100 + run,
    )  # fmt: skip
    return run


@pytest.fixture
def runs(store):
    return [
        taught(store, "KL", "P1", 1.1), taught(store, "KL", "P2", 1.2),
        taught(store, "KL", "P1", 1.3), taught(store, "MN", "P1", 1.4),
    ]  # fmt: skip


def test_each_person_has_the_newest_of_each_press(store, runs):
    found = store.hands.all()
    assert [(one.press, one.operator, one.run, one.utc_ns) for one in found] == [
        ("P1", "KL", 3, 103), ("P1", "MN", 4, 104), ("P2", "KL", 2, 102),
    ]  # fmt: skip
    assert '"gain_factor":1.3' in found[0].body
    assert store.hands.one("KL", "P1") == found[0]
    assert store.hands.one("MN", "P2") is None
    assert store.hands.newest_run() == len(runs) == 4


def test_what_was_made_forgotten_teaches_no_more_and_later_runs_do(store, runs):
    store.records.append(
        HandForgotten(operator="KL", utc_ns=200, hand="KL", press="P1", up_to_run=runs[-1])
    )
    assert store.hands.one("KL", "P1") is None
    assert store.hands.one("KL", "P2").run == 2
    assert store.hands.one("MN", "P1").run == 4
    assert store.hands.one("KL", "P1") is None
    run = taught(store, "KL", "P1", 1.5)
    assert store.hands.one("KL", "P1").run == run


def test_before_the_first_run_nothing_is_known_of_anybody(store):
    assert (store.hands.all(), store.hands.newest_run()) == ([], 0)
