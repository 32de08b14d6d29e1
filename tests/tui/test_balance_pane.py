import pytest
from msgspec.structs import replace

from ramphold.control.sample_methods import SampleSheet
from ramphold.control.shaker_methods import ShakingNow
from ramphold.core import MassReading, MassState
from ramphold.sample import (
    CRUSH,
    CUT,
    DENSITY,
    SIEVING,
    CylinderChosen,
    Load,
    ShakingStarted,
    StressPlanned,
    Tick,
    Ticked,
)
from ramphold.testing.samples import SampleBook as Book
from ramphold_tui.view import balance_pane, worksheet_parts
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.sieve_timers import sieve_timer


def line(book, key):
    sheet = SampleSheet(record=book.record(), next=book.steps())
    return next(one for one in worksheet_parts.worksheet_parts(sheet) if one.key == key)


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
    text, state = balance_pane.balance_view(shown, age_s)
    assert (text, state.word, state.tone) == (digits, word, tone)


def test_it_is_said_what_a_mass_would_fill_or_what_comes_before():
    book = Book(tests=(SIEVING, CRUSH))
    book.write(StressPlanned, stress_psi=4000.0, replicates=1)
    book.specimen(1)
    assert balance_pane.enter_keeps(line(book, SIEVING)) == "Enter keeps it as sieve No. 16, empty"
    one = "specimen 1"
    cut = (
        "a at 4 000 psi: nothing to weigh; Enter leads on: tick off: cut between the primary sieves"
    )
    assert balance_pane.enter_keeps(line(book, one)) == cut
    book.write(Ticked, specimen=1, what=Tick.CUT)
    assert (
        balance_pane.enter_keeps(line(book, one)) == "Enter keeps it as the charge, a at 4 000 psi"
    )
    assert (
        balance_pane.enter_keeps(line(book, CRUSH)) == "crush: all is done; R shows what it came to"
    )
    assert balance_pane.enter_keeps(None) == "no sample is open: Enter shows the worksheet"


def test_what_is_still_shaken_says_for_how_long():
    book = Book(tests=(CRUSH,))
    book.specimen(1)
    book.run(1)
    shaking = book.write(ShakingStarted, specimen=1, planned_s=600)
    book.weigh(112.4, "pan", Load.TARE, specimen=1)
    pan = line(book, "specimen 1")
    said = "Enter keeps it as the pan with fines, a at 4 000 psi"
    told = ShakingNow(
        shaking=shaking.record, sample=None, laboratory_number=None, specimen=1, label="a",
        operator="KL", planned_s=600.0, to_go_s=195.0,
    )  # fmt: skip
    # What the daemon counts by the clock of the boot: a calendar that is set moves nothing.
    on_shaker = (sieve_timer(told, 0),)
    assert balance_pane.enter_keeps(pan, on_shaker, 0) == f"{said} (still shaken: 3:15)"
    assert balance_pane.enter_keeps(pan, on_shaker, 196 * 10**9) == said
    assert balance_pane.enter_keeps(pan, (), 0) == said  # it was taken off
    other = (sieve_timer(replace(told, shaking=shaking.record + 1), 0),)
    assert balance_pane.enter_keeps(pan, other, 0) == said


@pytest.mark.parametrize(
    ("there_g", "brief", "grains", "tone"),
    [
        # A ball of quartz, 2.65 g/cm3, of the mean opening of No. 20 and No. 40, (0.850 + 0.425)/2
        # mm, is 0.3595 mg: by hand, pi/6 d3 rho. 39.52 g are 109 900 of them, 9.52 g 26 480.
        (None, "39.520 g to go", "about 110 000 grains", Tone.CALM),
        (30.0, "9.520 g to go", "about 26 000 grains", Tone.CALM),
        (39.45, "right", "about 200 grains", Tone.ACT),
        (41.52, "2.000 g too much", "about 5 600 grains", Tone.CAUTION),
    ],
)
def test_the_charge_is_shown_as_wanted_there_and_to_go(there_g, brief, grains, tone):
    # 24.7 cm3 of 1.6 g/cm3 are 39.520 g: ISO 13503-2:2006 11.5, from memory.
    book = Book(tests=(DENSITY, CRUSH))
    book.write(CylinderChosen, cylinder="C1", volume_cm3=100.0, calibration=1)
    book.weigh(160.0, "fill", test=DENSITY)
    book.specimen(1)
    book.write(Ticked, specimen=1, what=Tick.CUT)
    meter = balance_pane.charge_meter(line(book, "specimen 1"), there_g)
    assert (meter.brief, meter.tone) == (brief, tone)
    assert meter.text.startswith("wanted 39.520 g, there ")
    assert meter.text.endswith(grains)
    assert meter.share == pytest.approx(min((there_g or 0) / 39.52, 1))


def test_where_no_charge_is_weighed_none_is_shown():
    book = Book(tests=(SIEVING,))
    assert balance_pane.charge_meter(line(book, SIEVING), 100.0) == balance_pane.NO_CHARGE
    assert balance_pane.charge_meter(None, 100.0) == balance_pane.NO_CHARGE


def test_a_charge_that_the_cut_cannot_give_any_more_is_told_before_it_is_weighed():
    book = Book(tests=(CUT, CRUSH), edition="API RP 56")
    book.weigh(60.0, "kept", test=CUT)
    for number in (1, 2):
        book.specimen(number)
        book.write(Ticked, specimen=number, what=Tick.CUT)
    meter = balance_pane.charge_meter(line(book, "specimen 1"), 0.0)
    assert meter.text.startswith("wanted 39.583 g, there 0.000 g: 39.583 g to go, about ")
    book.weigh(39.583, "charge", specimen=1)
    meter = balance_pane.charge_meter(line(book, "specimen 2"), 0.0)
    assert meter.text == "wanted 39.583 g, there 0.000 g: the cut has only 20.417 g left"
    assert line(book, CUT).found == "60.0 g kept, 20.4 g left"
    book.weigh(39.583, "charge", specimen=2)
    assert line(book, CUT).found == "masses can't be right"
