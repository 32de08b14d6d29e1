"""A transducer's signal becomes pressure and force, or says that it is no measurement."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.errors import InputError
from ramphold.method.transducer import LoopTransducer, Ram, RatioTransducer, SignalState

UREG = pint.UnitRegistry()
LOOP = LoopTransducer(range_psi=10_000.0, shunt_ohm=100.0)
RATIO = RatioTransducer(range_psi=10_000.0)


@pytest.mark.parametrize(
    ("current_ma", "share"), [(4.0, 0.0), (8.0, 0.25), (12.0, 0.5), (16.0, 0.75), (20.0, 1.0)]
)
def test_a_loop_gives_none_of_its_range_at_4_ma_and_all_of_it_at_20(current_ma, share):
    # common practice, no source: 4-20 mA is linear over the range; ohm's law by pint
    across = (current_ma * UREG.mA * 100 * UREG.ohm).m_as("mV")
    found = LOOP.pressure(across)
    assert found.signal is SignalState.LIVE
    assert found.pressure_psi == pytest.approx(share * 10_000, abs=1e-9)


@pytest.mark.parametrize(
    ("current_ma", "signal"),
    [
        (-5.0, SignalState.BROKEN),
        (0.0, SignalState.BROKEN),
        (3.59, SignalState.BROKEN),
        (3.6, SignalState.LIVE),
        (3.8, SignalState.LIVE),
        (20.5, SignalState.LIVE),
        (21.0, SignalState.LIVE),
        (21.01, SignalState.OVER),
        (40.96, SignalState.OVER),
        (math.nan, SignalState.BROKEN),
        (math.inf, SignalState.OVER),
    ],
)
def test_a_loop_under_3_6_ma_is_broken_and_over_21_ma_over_range(current_ma, signal):
    # from memory: NAMUR NE 43
    found = LOOP.pressure(current_ma * 100)
    assert found.signal is signal
    assert math.isnan(found.pressure_psi) == (signal is not SignalState.LIVE)


@pytest.mark.parametrize(("volt", "psi"), [(0.5, 0.0), (1.5, 2500.0), (2.5, 5000.0), (4.5, 1e4)])
@pytest.mark.parametrize("supply", [4.75, 5.0, 5.25])
def test_half_a_volt_to_four_and_a_half_of_five_is_the_range_whatever_the_supply_is(
    volt, psi, supply
):
    # common practice, no source: 0.5-4.5 V at 5 V, in proportion to the supply
    followed = volt * supply / 5
    found = RATIO.pressure(followed / 2 * 1000, supply / 2 * 1000)  # a divider halves both
    assert found.pressure_psi == pytest.approx(psi, abs=1e-9)


@pytest.mark.parametrize(
    ("volt", "supply", "signal"),
    [
        (0.0, 5.0, SignalState.BROKEN),
        (0.249, 5.0, SignalState.BROKEN),
        (0.26, 5.0, SignalState.LIVE),
        (4.74, 5.0, SignalState.LIVE),
        (4.76, 5.0, SignalState.OVER),
        (5.0, 5.0, SignalState.OVER),
        (0.0, 0.0, SignalState.BROKEN),
        (2.0, -0.01, SignalState.BROKEN),
        (2.0, math.nan, SignalState.BROKEN),
    ],
)
def test_an_open_or_shorted_wire_and_a_lost_supply_are_no_pressure(volt, supply, signal):
    # common practice, no source: the limits lie half-way to the rails
    found = RATIO.pressure(volt * 1000, supply * 1000)
    assert found.signal is signal
    assert math.isnan(found.pressure_psi) == (signal is not SignalState.LIVE)


@given(st.floats(-1e4, 1e4), st.floats(0.1, 1e3))
def test_a_loop_never_gives_a_pressure_beyond_its_live_signal(shunt_mv, shunt_ohm):
    found = LoopTransducer(range_psi=1000.0, shunt_ohm=shunt_ohm).pressure(shunt_mv)
    if found.signal is SignalState.LIVE:
        assert -25.001 <= found.pressure_psi <= 1062.501  # 3.6 and 21 mA of 4-20
    else:
        assert math.isnan(found.pressure_psi)


def test_force_is_pressure_times_effective_area():
    # pint 0.25; a ram of 2.5625 in. bore at 10 000 psi, without friction
    area = math.pi / 4 * (2.5625 * UREG.inch) ** 2
    expected = (10_000 * UREG.psi * area).m_as("lbf")
    assert Ram(area_in2=area.m_as("in**2")).force_lbf(10_000.0) == pytest.approx(expected)


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf])
def test_a_range_a_shunt_and_an_area_must_be_finite_and_above_zero(value):
    for make in (
        lambda: LoopTransducer(range_psi=value, shunt_ohm=100.0),
        lambda: LoopTransducer(range_psi=1000.0, shunt_ohm=value),
        lambda: RatioTransducer(range_psi=value),
        lambda: Ram(area_in2=value),
    ):
        with pytest.raises(InputError, match="expected a finite value above zero"):
            make()
