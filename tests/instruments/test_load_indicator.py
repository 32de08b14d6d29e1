"""A load indicator's frames as forces in lbf, against an independent library."""

import math
from decimal import Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.core import Quality
from ramphold.instruments import InstrumentSetup, force_reading, load_indicator
from ramphold.testing import Inbox, ManualClock, ScriptedPort
from ramphold.wire import LoadFrame, load_decoder, load_profile

# Reference: pint's own definitions of the units.
REGISTRY = pint.UnitRegistry()
LBF = {
    unit: REGISTRY(name).to("lbf").magnitude
    for unit, name in {"lbf": "lbf", "N": "N", "kN": "kN", "kgf": "kgf"}.items()
}


def frame_of(line):
    (frame,) = load_decoder(load_profile("state-comma")).feed(line + b"\r\n")
    return frame


@given(st.sampled_from(sorted(LBF)), st.decimals(-99999, 99999, places=2))
def test_a_force_in_any_unit_is_the_same_force_in_lbf(unit, value):
    reading = force_reading(7, frame_of(f"ST,GS,{value:+f} {unit}".encode()))
    assert reading.t_ns == 7
    assert reading.force_lbf == pytest.approx(float(value) * LBF[unit], rel=1e-12)
    assert Decimal(reading.raw).scaleb(reading.exponent) == value


def test_the_target_of_4000_psi_in_kn_is_its_force_in_lbf():
    # 4000 psi on a 2 in. bore is 55.898 kN and 12566.4 lbf: recomputed.
    reading = force_reading(0, frame_of(b"ST,GS,+ 55.898 kN"))
    assert reading.force_lbf == pytest.approx(12566.4, abs=0.2)


@pytest.mark.parametrize(
    "line", [b"OL,GS,+ 999999.9 lbf", b"UL,GS, lbf", b"ST,GS, Err", b"US,GS,-------- lbf", b"junk"]
)
def test_a_frame_that_carries_no_force_is_not_a_number_and_not_usable(line):
    frame = frame_of(line)
    reading = force_reading(0, frame)
    assert math.isnan(reading.force_lbf)
    assert reading.quality is frame.quality
    assert not reading.usable


def test_a_garbled_frame_keeps_its_line_and_a_good_one_does_not():
    garbled = LoadFrame(quality=Quality.GARBLED, line=b"\xfe")
    assert force_reading(0, garbled).line == b"\xfe"
    assert force_reading(0, frame_of(b"US,GS,+1.0 lbf")).line == b""


@pytest.mark.parametrize("chunk", [1, 7, 4096])
def test_readings_come_in_order_however_the_bytes_are_cut(chunk):
    lines = [b"US,GS,+ %06d.0 lbf\r\n" % force for force in range(20)]
    port = ScriptedPort([(b"", b"".join(lines))], chunk=chunk)
    readings = Inbox()
    setup = InstrumentSetup(
        name="load", clock=ManualClock(), on_reading=readings.put, on_health=lambda _: None
    )
    indicator = load_indicator(setup, lambda: port, profile=load_profile("state-comma"))
    indicator.start()
    got = readings.wait_for(lambda items: len(items) == 20)
    indicator.stop()
    assert [reading.force_lbf for reading in got] == list(range(20))
    assert {reading.quality for reading in got} == {Quality.UNSTEADY}
    port.finish()
