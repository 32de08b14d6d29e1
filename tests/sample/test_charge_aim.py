"""A charge is shown as target, present and grains to go."""

import pytest

from ramphold.sample import (
    CUT,
    DENSITY,
    SIEVING,
    CylinderChosen,
    Load,
    ShakingStarted,
    Tick,
    Ticked,
    ValueEntered,
)

# A mono-sized 20/40: all of it on No. 30, under No. 25: 0.710 and 0.600 mm, middle 0.655 mm.
ON_30 = {"30": 100.0}


def charge_step(book, sieved=None, density=None, **sample):
    sheet = book(**sample)
    sheet.write(CylinderChosen, cylinder="C1", volume_cm3=100.0, calibration=1)
    sheet.weigh(0.0, "fill", Load.TARE, DENSITY)
    sheet.weigh(160.0, "fill", Load.GROSS, DENSITY)
    if sieved is not None:
        for item in ("16", "20", "25", "30", "35", "40", "50", "pan"):
            sheet.weigh(400.0, item, Load.TARE, SIEVING)
        sheet.weigh(100.0, "charge", test=SIEVING)
        sheet.write(ShakingStarted, planned_s=600)
        for item in ("16", "20", "25", "30", "35", "40", "50", "pan"):
            sheet.weigh(400.0 + sieved.get(item, 0.0), item, Load.GROSS, SIEVING)
    if density is not None:
        sheet.write(ValueEntered, what="apparent density", value=density)
    sheet.specimen(1)
    sheet.write(Ticked, specimen=1, what=Tick.CUT)
    return next(step for step in sheet.steps() if step.specimen == 1)


def test_grains_to_go_follow_from_the_measured_diameter_and_density(book):
    aim = charge_step(book, ON_30, density=2.63).charge
    assert aim.target_g == pytest.approx(39.52)  # 24.7 cm3 of 1.60 g/cm3, as in test_charge
    assert (aim.tolerance_g, aim.assumed) == (0.1, ())
    assert aim.diameter_mm == pytest.approx(0.655)
    # By hand: a ball of 0.655 mm has 0.147137 mm3 and 0.386970 mg; 20 mg are 51.7 of them.
    assert aim.grains_to_go(39.50) == 52
    assert aim.grains_to_go(39.54) == -52
    assert aim.grains_to_go(39.52) == 0
    # A whole charge: 39 520 mg of 0.386970 mg.
    assert aim.grains_to_go(0.0) == pytest.approx(102_127, abs=2)


def test_what_was_not_measured_is_the_usual_and_says_so(book):
    aim = charge_step(book).charge
    # The middle of No. 20 and No. 40, 0.850 and 0.425 mm; quartz.
    assert (aim.diameter_mm, aim.apparent_density_g_cm3) == (pytest.approx(0.6375), 2.65)
    assert aim.assumed == ("diameter", "apparent density")


def test_a_charge_is_right_within_the_tolerance_of_its_sample(book):
    aim = charge_step(book, charge_tolerance_g=0.05).charge
    assert aim.is_right(39.52)
    assert aim.is_right(39.57)
    assert not aim.is_right(39.58)
    assert not aim.is_right(39.46)


def test_there_is_nothing_to_aim_at_before_the_density_is_known(book):
    sheet = book()
    sheet.specimen(1)
    sheet.write(Ticked, specimen=1, what=Tick.CUT)
    step = next(step for step in sheet.steps() if step.specimen == 1)
    assert (step.text, step.charge) == ("weigh crush: charge of specimen 1", None)


@pytest.mark.parametrize(
    ("kept_g", "is_left"), [(None, True), (39.52, True), (39.42, True), (39.41, False)]
)
def test_a_cut_has_enough_left_if_that_is_the_target_less_the_tolerance(book, kept_g, is_left):
    # 39.52 g within 0.1 g; nobody is warned of a cut that was not weighed.
    sheet = book()
    sheet.write(CylinderChosen, cylinder="C1", volume_cm3=100.0, calibration=1)
    sheet.weigh(160.0, "fill", test=DENSITY)
    if kept_g is not None:
        sheet.weigh(kept_g, "kept", test=CUT)
    sheet.specimen(1)
    sheet.write(Ticked, specimen=1, what=Tick.CUT)
    aim = next(step for step in sheet.steps() if step.specimen == 1).charge
    assert aim.is_left is is_left
