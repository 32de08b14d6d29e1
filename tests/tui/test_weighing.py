import pytest

from ramphold.control.methods import SpecimenDetail
from ramphold.core import MassReading, MassState, RunPlan, RunState
from ramphold.sample import Mass, Specimen, Weighing
from ramphold.wire import RunRecord
from ramphold_tui import weighing
from ramphold_tui.shown import Tone

SPECIMEN = Specimen(
    id=3, label="S-104 A", target_psi=4000.0, bore_in=2.0, operator="KL", created_utc_ns=0
)
CHARGE, EMPTY, FULL = Weighing.CHARGE, Weighing.PAN_EMPTY, Weighing.PAN_FULL


def mass(number, what, mass_g, corrects=None):
    return Mass(
        id=number,
        specimen=3,
        what=what,
        mass_g=mass_g,
        line=None,
        t_ns=0,
        utc_ns=0,
        operator="KL",
        corrects=corrects,
    )


def run(state, *, live=False):
    return RunRecord(
        id=1,
        specimen=3,
        operator="KL",
        plan=RunPlan(target_psi=4000.0),
        state=state,
        reason="",
        started_t_ns=0,
        started_utc_ns=0,
        ended_t_ns=None if live else 1,
        ended_utc_ns=None if live else 1,
        assessment=None,
    )


def detail(*weighed, runs=(), fines_pct=None):
    masses = tuple(mass(number, what, 10.0) for number, what in enumerate(weighed, 1))
    return SpecimenDetail(specimen=SPECIMEN, masses=masses, runs=runs, fines_pct=fines_pct)


COMPLETE = (run(RunState.COMPLETE),)


@pytest.mark.parametrize(
    ("known", "what", "words"),
    [
        (detail(), CHARGE, "weigh the charge"),
        (detail(CHARGE), EMPTY, "start its run"),
        (detail(CHARGE, EMPTY), None, "start its run"),
        (detail(CHARGE, runs=(run(RunState.RAMP, live=True),)), EMPTY, "at the press"),
        (detail(CHARGE, EMPTY, runs=(run(RunState.STOPPED),)), None, "start its run"),
        (detail(CHARGE, runs=COMPLETE), EMPTY, "weigh the empty pan"),
        (detail(CHARGE, EMPTY, runs=COMPLETE), FULL, "weigh the pan with fines"),
        (detail(CHARGE, EMPTY, FULL, runs=COMPLETE, fines_pct=8.1), None, "done"),
        (
            detail(CHARGE, EMPTY, FULL, runs=COMPLETE),
            None,
            "a mass is wrong: correct",
        ),
    ],
)
def test_what_is_weighed_next_follows_from_what_is_there(known, what, words):
    assert weighing.next_weighing(known) == what
    assert weighing.to_do(known) == words


def test_the_last_mass_is_the_newest_that_stands():
    masses = (mass(1, CHARGE, 39.5), mass(2, EMPTY, 112.4), mass(3, CHARGE, 39.6, corrects=1))
    known = SpecimenDetail(specimen=SPECIMEN, masses=masses, runs=(), fines_pct=None)
    assert weighing.last_mass(known).id == 3
    assert weighing.last_mass(detail()) is None


def test_a_row_stands_under_its_header_and_fits_80_columns():
    row = "  " + weighing.row(
        detail(CHARGE, EMPTY, FULL, runs=(run(RunState.INTERRUPTED),), fines_pct=12.34)
    )
    header = weighing.HEADER
    assert row.index("12.34") + 5 == header.index("fines %") + 7
    assert row.index("start its run") == header.index("next")
    assert len("  " + weighing.row(detail(CHARGE, EMPTY, runs=COMPLETE))) <= 78


def reading(state, mass_g):
    return MassReading(t_ns=0, mass_g=mass_g, state=state, line=b"")


@pytest.mark.parametrize(
    ("shown", "age_s", "digits", "word", "tone"),
    [
        (reading(MassState.STABLE, 39.52), 0.2, "39.520", "= stable", Tone.CALM),
        (reading(MassState.MOVING, 39.52), 0.2, "39.520", "~ moving", Tone.ACT),
        (reading(MassState.OVERLOAD, None), 0.2, "--", "! overload", Tone.CAUTION),
        (reading(MassState.STABLE, 39.52), 9.0, "39.520", "was stable", Tone.FADED),
        (None, None, "--", "no mass", Tone.FADED),
    ],
)
def test_the_balance_says_by_word_and_mark_whether_it_is_still(shown, age_s, digits, word, tone):
    text, state = weighing.balance_view(shown, age_s)
    assert (text, state.word, state.tone) == (digits, word, tone)
