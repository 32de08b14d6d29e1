"""A density, or an entered result, as the mean of several determinations."""

import pytest

from ramphold.errors import InputError
from ramphold.method.gravimetric import Material
from ramphold.sample import DENSITY, CylinderChosen, Load, Step, ValueEntered, check_value


def density_of(book, fills, **sample):
    sheet = book(tests=(DENSITY,), **sample)
    sheet.write(CylinderChosen, cylinder="C1", volume_cm3=100.0, calibration=1)
    sheet.weigh(250.0, "fill", Load.TARE, DENSITY)
    for number, gross_g in enumerate(fills, 1):
        sheet.weigh(gross_g, "fill" if number == 1 else f"fill {number}", Load.GROSS, DENSITY)
    return sheet


def test_the_worksheet_asks_for_the_empty_cylinder_once_and_for_each_fill(book):
    sheet, asked = density_of(book, (), density_fills=3), []
    while (step := sheet.steps()[0]).step is Step.WEIGH:
        asked.append(str(step.place))
        sheet.weigh(410.0 + len(asked), step.place.item, step.place.load, DENSITY)
    assert asked == [
        "bulk density: fill, gross", "bulk density: fill 2, gross", "bulk density: fill 3, gross",
    ]  # fmt: skip


def test_a_bulk_density_is_the_mean_of_its_fills(book):
    found = density_of(book, (410.0, 411.0, 409.3)).record().density
    assert found.determinations_g_cm3 == pytest.approx((1.6, 1.61, 1.593))
    assert found.bulk_density_g_cm3 == pytest.approx(1.601)


def test_a_fill_with_an_empty_cylinder_of_its_own_goes_by_that(book):
    sheet = density_of(book, (410.0,))
    sheet.weigh(251.0, "fill 2", Load.TARE, DENSITY)
    sheet.weigh(410.0, "fill 2", Load.GROSS, DENSITY)
    sheet.weigh(161.0, "fill 3", test=DENSITY)
    assert sheet.record().density.fills_g == pytest.approx((160.0, 159.0, 161.0))


def test_determinations_that_are_entered_give_their_mean_and_its_decision(book):
    sheet = book(material=Material.CERAMIC)
    sheet.write(ValueEntered, what="turbidity", values=(240.0, 251.0, 262.0))
    (found,) = sheet.record().properties
    assert (found.value, found.determinations) == (251.0, (240.0, 251.0, 262.0))
    # From memory: 250, ISO 13503-2:2006 clause 9.
    assert found.passes is False


@pytest.mark.parametrize(
    "given",
    [
        {},
        {"value": 1.0, "values": (1.0, 2.0)},
        {"values": (2.65,)},
        {"values": (2.65, -1.0)},
        {"value": 1.0, "counts": ((0.7, 20),)},
    ],
)
def test_an_entered_result_is_one_value_or_several_determinations_or_grains(book, given):
    entered = ValueEntered(sample=1, operator="KL", utc_ns=0, what="apparent density", **given)
    with pytest.raises(InputError, match="expected"):
        check_value(book().record().sample, entered)
