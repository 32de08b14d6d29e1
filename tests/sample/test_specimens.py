"""Whether a specimen counts, and why: what a report prints beside its fines."""

import pytest

from ramphold.errors import CommandRefused
from ramphold.sample import (
    CylinderChosen,
    ExclusionDecided,
    Load,
    RunDecided,
    StateReached,
    Tick,
    Ticked,
    check_charge,
)

LOADED = (StateReached(t_s=1.0, state="ramp", reason=""),)


def one(book):
    return book.record().specimens[0]


def test_a_crushed_and_weighed_specimen_counts(book):
    sheet = book()
    sheet.crushed(1)
    assert (one(sheet).fines_pct, one(sheet).counts) == (5.0, True)
    assert one(sheet).because == "its run is within every limit"
    assert sheet.record().counted == ((4000.0, 5.0),)


def test_a_pan_weighed_full_and_empty_gives_the_same_fines(book):
    sheet = book()
    sheet.specimen(1)
    sheet.weigh(40.0, "charge", specimen=1)
    sheet.run(1)
    sheet.weigh(112.0, "pan", Load.TARE, specimen=1)
    assert one(sheet).because == "not all masses are weighed yet"
    sheet.weigh(114.0, "pan", Load.GROSS, specimen=1)
    assert one(sheet).fines_pct == 5.0


def test_a_specimen_that_was_not_crushed_does_not_count(book):
    sheet = book()
    sheet.specimen(1)
    sheet.weigh(40.0, "charge", specimen=1)
    sheet.weigh(2.0, "pan", specimen=1)
    assert (one(sheet).counts, one(sheet).because) == (False, "not crushed yet")


@pytest.mark.parametrize("fines_g", [0.0, 0.5])
def test_a_pan_with_no_fines_or_few_is_no_finding(book, fines_g):
    sheet = book()
    sheet.crushed(1, fines_g)
    assert (one(sheet).fines_pct, [said for said in one(sheet).findings if "pan" in said]) == (
        pytest.approx(fines_g / 0.4), [],
    )  # fmt: skip


def test_a_pan_that_weighs_no_more_full_than_empty_holds_no_fines_and_says_so(book):
    sheet = book()
    sheet.specimen(1)
    sheet.weigh(40.0, "charge", specimen=1)
    sheet.run(1)
    sheet.weigh(112.004, "pan", Load.TARE, specimen=1)
    sheet.weigh(112.001, "pan", Load.GROSS, specimen=1)
    assert (one(sheet).fines_pct, one(sheet).counts) == (0.0, True)
    said = "the pan weighed 0.003 g less with its fines than empty: taken as 0 g"
    assert said in one(sheet).findings


@pytest.mark.parametrize(
    ("verdict", "state", "because"),
    [
        ("fail", "complete", "run 1 failed its assessment, and nobody has decided that it counts"),
        ("fail", "stopped", "run 1 failed its assessment, and nobody has decided that it counts"),
        (None, "interrupted", "run 1 was interrupted"),
    ],
)
def test_a_run_that_did_not_keep_to_the_limits_does_not_count(book, verdict, state, because):
    sheet = book()
    sheet.crushed(1, verdict=verdict, state=state)
    assert (one(sheet).counts, one(sheet).because) == (False, because)


def test_a_decision_makes_a_failed_run_count_and_both_are_shown(book):
    sheet = book()
    sheet.crushed(1, verdict="fail", failed=("hold time", "overshoot"))
    sheet.write(RunDecided, specimen=1, run=1, counts=True, reason="clock ran on", operator="MM")
    assert one(sheet).counts
    assert one(sheet).because == "its run counts, decided by MM: clock ran on"
    assert "run 1 failed its assessment: hold time, overshoot" in one(sheet).findings


def test_no_decision_makes_an_interrupted_run_count(book):
    sheet = book()
    sheet.crushed(1, verdict=None, state="interrupted")
    sheet.write(RunDecided, specimen=1, run=1, counts=True, reason="all was seen")
    assert not one(sheet).counts


def test_a_decision_about_an_earlier_run_says_nothing_of_the_last_one(book):
    sheet = book()
    sheet.crushed(1, verdict="fail")
    sheet.write(RunDecided, specimen=1, run=1, counts=True, reason="x")
    sheet.run(1, number=2, verdict="fail")
    assert not one(sheet).counts
    assert one(sheet).decision is None


def test_only_an_earlier_run_that_loaded_its_sand_has_loaded_it_before(book):
    sheet = book()
    sheet.specimen(1)
    for number, reached in enumerate(("seating", "ramp", "ramp"), 1):
        moments = (StateReached(t_s=1.0, state=reached, reason=""),)
        sheet.run(1, number=number, verdict=None, state="interrupted", moments=moments)
    said = [said for said in one(sheet).findings if "loaded" in said]
    assert said == ["loaded before: run 2 was interrupted"]


def test_the_newest_decision_holds(book):
    sheet = book()
    sheet.crushed(1)
    for counts in (False, True):
        sheet.write(RunDecided, specimen=1, run=1, counts=counts, reason="x")
    assert one(sheet).counts
    sheet.write(RunDecided, specimen=1, run=1, counts=False, reason="wrong cell")
    assert one(sheet).because == "run 1 does not count, decided by KL: wrong cell"


def test_an_exclusion_outweighs_everything_until_it_is_taken_back(book):
    sheet = book()
    sheet.crushed(1)
    sheet.write(RunDecided, specimen=1, run=1, counts=True, reason="x")
    sheet.write(ExclusionDecided, specimen=1, excluded=True, reason="spilled", operator="MM")
    assert one(sheet).because == "left out by MM: spilled"
    assert sheet.record().evidence is None
    sheet.write(ExclusionDecided, specimen=1, excluded=False, reason="another pan")
    assert one(sheet).counts
    assert len(sheet.record().exclusions) == 2


def test_where_the_charge_went_is_accounted_for(book):
    sheet = book()
    sheet.crushed(1)
    assert one(sheet).balance.loss_pct is None
    sheet.weigh(37.9, "retained", specimen=1)
    balance = one(sheet).balance
    assert (balance.recovered_g, balance.loss_pct) == (39.9, pytest.approx(0.25))


def test_a_pan_heavier_than_the_charge_gives_no_fines(book):
    sheet = book()
    sheet.crushed(1, fines_g=41.0)
    assert (one(sheet).fines_pct, one(sheet).because) == (
        None, "its masses can't be right: correct one",
    )  # fmt: skip


def test_ticks_that_are_missing_are_told_once_it_is_crushed(book):
    sheet = book()
    sheet.specimen(1)
    assert one(sheet).findings == ()
    sheet.write(Ticked, specimen=1, what=Tick.LEVEL)
    sheet.write(Ticked, specimen=1, what=Tick.TURNED)
    sheet.write(Ticked, specimen=1, what=Tick.TURNED, done=False)
    sheet.run(1)
    assert one(sheet).crush_ticks == (Tick.LEVEL,)
    assert one(sheet).findings == (
        "not ticked off before the crush: cut between the primary sieves",
        "not ticked off before the crush: piston turned",
        "not ticked off before the crush: load zeroed before contact",
    )


def test_a_run_leaves_no_more_than_the_cut_ticked_for_the_next_one(book):
    sheet = book()
    sheet.specimen(1)
    for tick in Tick:
        sheet.write(Ticked, specimen=1, what=tick)
    sheet.run(1, moments=LOADED)
    assert (one(sheet).ticks, one(sheet).crush_ticks) == ((Tick.CUT,), tuple(Tick))
    assert one(sheet).findings == ()
    sheet.write(Ticked, specimen=1, what=Tick.LEVEL)
    assert one(sheet).ticks == (Tick.CUT, Tick.LEVEL)


def test_what_is_ticked_after_a_run_is_no_word_on_it_but_what_is_taken_back_is(book):
    sheet = book()
    sheet.specimen(1)
    for tick in (Tick.CUT, Tick.LEVEL, Tick.ZEROED):
        sheet.write(Ticked, specimen=1, what=tick)
    sheet.run(1, moments=LOADED)
    sheet.write(Ticked, specimen=1, what=Tick.TURNED)
    assert one(sheet).findings == ("not ticked off before the crush: piston turned",)
    sheet.write(Ticked, specimen=1, what=Tick.LEVEL, done=False)
    assert one(sheet).crush_ticks == (Tick.CUT, Tick.ZEROED)


@pytest.mark.parametrize(
    ("moments", "said"),
    [
        (LOADED, ["bed level", "piston turned", "load zeroed before contact"]),
        ((), []),  # nothing was crushed between the ticks and the run that is judged
    ],
)
def test_a_second_crush_on_the_ticks_of_the_first_was_not_ticked_off(book, moments, said):
    sheet = book()
    sheet.specimen(1)
    for tick in Tick:
        sheet.write(Ticked, specimen=1, what=tick)
    sheet.run(1, verdict="fail", moments=moments)
    sheet.run(1, number=2, moments=LOADED)
    found = [text for text in one(sheet).findings if "ticked" in text]
    assert found == [f"not ticked off before the crush: {tick}" for tick in said]


def test_the_target_of_a_charge_follows_from_the_density_of_its_sample(book):
    sheet = book()
    sheet.specimen(1)
    assert one(sheet).target_g is None
    sheet.write(CylinderChosen, cylinder="C1", volume_cm3=100.0, calibration=1)
    sheet.weigh(160.0, "fill", test="bulk density")
    # From memory: ISO 13503-2:2006 11.5, 24.7 cm3 of 1.60 g/cm3.
    assert one(sheet).target_g == pytest.approx(39.52)
    check_charge(sheet.record(), 1, 39.62)
    with pytest.raises(CommandRefused, match=r"39\.630 g, \+0\.110 g off its target of 39\.520 g"):
        check_charge(sheet.record(), 1, 39.63)
    sheet.weigh(39.0, "charge", specimen=1)
    assert "charge -0.520 g off its target of 39.520 g" in one(sheet).findings


def test_the_older_practice_charges_by_area_whatever_the_density(book):
    sheet = book(edition="API RP 56")
    sheet.specimen(1)
    # Recomputed: 4 lb/ft2 over a 2 in. bore.
    assert one(sheet).target_g == pytest.approx(39.5834, abs=1e-4)


def test_only_what_counts_makes_the_class(book):
    sheet = book()
    for number, (stress_psi, fines_g) in enumerate(
        [(4000.0, 2.0), (4000.0, 2.2), (5000.0, 3.0), (6000.0, 4.4)], 1
    ):
        sheet.crushed(number, fines_g, stress_psi)
    assert sheet.record().evidence.found.crush_class == "5K"
    sheet.write(ExclusionDecided, specimen=4, excluded=True, reason="sieve torn")
    found = sheet.record().evidence.found
    assert found.crush_class == "5K"
    assert any("only a lower bound" in finding for finding in found.findings)


def test_an_edition_without_classes_gives_none_and_its_suggested_limit(book):
    sheet = book(edition="API RP 56")
    sheet.crushed(1)
    assert sheet.record().evidence is None
    # From memory: API RP 56 9.4.
    suggested = sheet.record().suggested
    assert (suggested.stress_psi, suggested.fines_pct) == (4000, 14)
