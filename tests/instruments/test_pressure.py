"""From a converter's count to a force: by a calibration, or by oil pressure and ram."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.core import Quality
from ramphold.instruments import Conversion, CountScale, by_curve, by_pressure
from ramphold.method.force_curve import CalibrationCurve
from ramphold.method.transducer import LoopTransducer, Ram, RatioTransducer

UREG = pint.UnitRegistry()
# The invented example certificate of hardware/calibration.
CURVE = CalibrationCurve(c0=27.7, c1=85.871089, c2=-2.055253e-6, low_lbf=5000, high_lbf=50000)
LOOP = by_pressure(LoopTransducer(range_psi=10_000, shunt_ohm=100), Ram(area_in2=5.0))
RATIO = by_pressure(RatioTransducer(range_psi=10_000), Ram(area_in2=5.0))


def of_loop(current_ma):
    """The conversion of a current over 100 ohm at 0.125 mV a count."""
    count = round(current_ma * 100 / 0.125)
    return Conversion(t_ns=7, count=count, mv=count * 0.125)


def test_a_count_becomes_a_force_only_by_a_calibration():
    reading = by_curve(lambda: None)(Conversion(t_ns=7, count=429_320))
    assert (reading.quality, reading.usable) == (Quality.UNCALIBRATED, False)
    assert math.isnan(reading.force_lbf)
    assert (reading.t_ns, reading.raw, reading.exponent, reading.unit) == (7, 429_320, 0, "count")


@pytest.mark.parametrize(("count", "force_lbf"), [(429_320, 5000), (2_145_493, 25_000)])
def test_the_certificates_own_points_come_back_as_their_forces(count, force_lbf):
    # the example's expanded uncertainty is 25.1 lbf; it is fitted with scipy in its own test
    reading = by_curve(lambda: CountScale(curve=CURVE))(Conversion(t_ns=7, count=count))
    assert reading.force_lbf == pytest.approx(force_lbf, abs=25.1)
    assert (reading.raw, reading.exponent, reading.unit) == (count, 0, "count")
    assert reading.usable


def test_the_count_without_a_load_is_taken_off_and_may_be_taken_anew_while_readings_come():
    scales = iter([CountScale(curve=CURVE, zero=1000), CountScale(curve=CURVE, zero=2000)])
    reading = by_curve(lambda: next(scales))
    forces = [reading(Conversion(t_ns=7, count=1000 + 858_535)).force_lbf for _ in range(2)]
    assert forces[0] == pytest.approx(10_000, abs=25.1)
    assert forces[0] - forces[1] == pytest.approx(1000 / 85.87, abs=0.05)


def test_a_count_past_where_the_curve_turns_is_over_range():
    steep = CalibrationCurve(c0=0, c1=100, c2=-1e-3, low_lbf=0, high_lbf=40_000)
    reading = by_curve(lambda: CountScale(curve=steep))(Conversion(t_ns=7, count=2_600_000))
    assert reading.quality is Quality.OVER_RANGE
    assert reading.raw == 2_600_000


@pytest.mark.parametrize(
    "quality", [one for one in Quality if one not in (Quality.GOOD, Quality.UNSTEADY)]
)
@pytest.mark.parametrize("scale", [by_curve(lambda: CountScale(curve=CURVE)), LOOP, RATIO])
def test_a_conversion_without_a_number_never_gets_one(quality, scale):
    found = Conversion(t_ns=7, quality=quality, count=1_000_000, mv=1000, supply_mv=2500)
    reading = scale(found)
    assert (reading.quality, reading.usable) == (quality, False)
    assert math.isnan(reading.force_lbf)


@pytest.mark.parametrize(
    ("current_ma", "quality"),
    [
        # from memory: NAMUR NE 43
        (0.0, Quality.UNDER_RANGE),
        (3.55, Quality.UNDER_RANGE),
        (3.65, Quality.GOOD),
        (20.9, Quality.GOOD),
        (21.1, Quality.OVER_RANGE),
    ],
)
def test_a_broken_and_an_over_driven_loop_are_qualities(current_ma, quality):
    assert LOOP(of_loop(current_ma)).quality is quality


def test_pressure_over_the_effective_area_is_the_force():
    # pint: 12 mA is half of 10 000 psi, on 5 in2
    expected = (5000 * UREG.psi * 5 * UREG.inch**2).m_as("lbf")
    assert LOOP(of_loop(12)).force_lbf == pytest.approx(expected)


def test_a_transducer_that_follows_its_supply_is_read_against_it():
    for supply in (2375.0, 2500.0, 2625.0):  # 5 V +-5 %, halved by the divider
        found = Conversion(t_ns=7, count=1, mv=0.5 * supply, supply_mv=supply)
        assert RATIO(found).force_lbf == pytest.approx(25_000)
    lost = RATIO(Conversion(t_ns=7, count=1, mv=1.0, supply_mv=0.0))
    assert lost.quality is Quality.UNDER_RANGE


@given(st.floats(3.6, 21.0), st.floats(3.6, 21.0))
def test_more_current_is_never_less_force(one, other):
    low, high = sorted((one, other))
    forces = [LOOP(of_loop(each)).force_lbf for each in (low, high)]
    assert not forces[0] > forces[1]
