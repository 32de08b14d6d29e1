"""A run's records go through JSON and come back the same, to the byte."""

import json
import math
from typing import get_args

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import structs

from ramphold.core import Command, EndRun, Event, ReadingsLost, RunPlan, RunState, StateChanged
from ramphold.errors import PlanError, WireError
from ramphold.testing.runs import GOOD_RUN, drawn, fed
from ramphold.wire import (
    decode_assessment,
    decode_command,
    decode_event,
    decode_plan,
    encode_record,
    kind_of,
)


def records(union):
    """Any record of a union whose numbers are finite."""
    kinds = (st.from_type(kind) for kind in get_args(union))
    return st.one_of(*kinds).filter(lambda record: finite(msgspec.to_builtins(record)))


def finite(value):
    if isinstance(value, dict):
        return all(map(finite, value.values()))
    return not isinstance(value, float) or math.isfinite(value)


DECODERS = (decode_event, decode_command, decode_plan, decode_assessment)


@given(records(Event))
def test_any_event_comes_back_as_it_was(event):
    text = encode_record(event)
    assert decode_event(text) == event
    assert encode_record(decode_event(text)) == text
    assert json.loads(text)["type"] == type(event).__name__ == kind_of(event)


@given(records(Command))
def test_any_command_comes_back_as_it_was(command):
    text = encode_record(command)
    assert decode_command(text) == command
    assert encode_record(decode_command(text)) == text


@given(
    target_psi=st.floats(500, 12_000),
    bore_in=st.floats(0.5, 4),
    rate_psi_min=st.floats(1, 1e5),
    hold_s=st.floats(0.1, 1e5),
)
def test_any_plan_comes_back_as_it_was(**values):
    plan = RunPlan(**values)
    text = encode_record(plan)
    assert decode_plan(text) == plan
    assert encode_record(decode_plan(text)) == text


def test_an_assessment_comes_back_as_it_was():
    tracker, _ = fed(RunPlan(target_psi=4000), drawn(GOOD_RUN))
    text = encode_record(tracker.assess())
    assert decode_assessment(text) == tracker.assess()
    assert json.loads(text)["checks"][0]["pass"] is True


def test_an_event_is_written_as_its_kind_and_its_fields():
    event = StateChanged(
        t_ns=9_007_199_254_740_993,  # 2**53 + 1: a reader that makes floats of it would lose it
        since_ns=1,
        before=RunState.RAMP,
        after=RunState.HOLD,
        reason="at target",
        stress_psi=3999.5,
    )
    assert encode_record(event) == (
        b'{"type":"StateChanged","t_ns":9007199254740993,"since_ns":1,"before":"ramp",'
        b'"after":"hold","reason":"at target","stress_psi":3999.5}'
    )


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_a_number_that_json_can_not_hold_is_refused_not_lost(number):
    event = StateChanged(
        t_ns=1,
        since_ns=1,
        before=RunState.RAMP,
        after=RunState.HOLD,
        reason="",
        stress_psi=number,
    )
    with pytest.raises(WireError, match="not finite"):
        encode_record(event)


def test_nor_may_a_check_of_an_assessment_be_one_that_json_can_not_hold():
    assessment = fed(RunPlan(target_psi=4000), drawn(GOOD_RUN))[0].assess()
    checks = tuple(structs.replace(one, value=math.inf) for one in assessment.checks)
    with pytest.raises(WireError, match="Assessment with a number that is not finite"):
        encode_record(structs.replace(assessment, checks=checks))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (b'{"t_ns":1,"since_ns":1}', "type None, expected StateChanged, ReadingsLost"),
        (b'{"type":"Lunch"}', "type 'Lunch', expected"),
        (b'{"type":["ReadingsLost"]}', "type"),
        (b'{"type":"ReadingsLost","t_ns":1}', "ReadingsLost: .*since_ns"),
        (b'{"type":"ReadingsLost","t_ns":"1","since_ns":1}', "ReadingsLost: Expected `int`"),
        (b'{"type":"ReadingsLost","t_ns":1,"since_ns":1,"x":1}', "ReadingsLost has no x"),
        (b"[1]", "Expected `object`"),
        (b"", "truncated"),
    ],
)
def test_what_is_no_event_says_what_is_wrong(text, expected):
    with pytest.raises(WireError, match=rf"not the record of an event: .*{expected}"):
        decode_event(text)


def test_a_command_is_no_event_and_an_event_no_command():
    with pytest.raises(WireError, match="type 'EndRun'"):
        decode_event(encode_record(EndRun(reason="x")))
    with pytest.raises(WireError, match="type 'ReadingsLost'"):
        decode_command(encode_record(ReadingsLost(t_ns=1, since_ns=1)))


def test_a_plan_that_must_not_be_run_does_not_come_out_of_a_file_either():
    text = encode_record(RunPlan(target_psi=4000.0)).replace(b"4000.0", b"60000.0")
    with pytest.raises(PlanError):
        RunPlan(target_psi=60_000.0)
    with pytest.raises(WireError, match=r"not the record of a plan: .*over the rating"):
        decode_plan(text)


@given(st.binary(max_size=100) | st.from_type(dict[str, int]).map(msgspec.json.encode))
def test_any_bytes_are_a_record_or_a_wire_error(text):
    for decode in DECODERS:
        with pytest.raises(WireError):
            decode(text)


def test_deep_nesting_is_a_wire_error():
    for decode in DECODERS:
        # How deep it gets before it gives up, and what it says then, differs from Python to Python.
        with pytest.raises(WireError):
            decode(b'{"type":' * 60_000)


@pytest.mark.parametrize("text", [b'{"\x80type":1}', b'{"type":' + b"9" * 5000 + b"}"])
def test_bytes_that_no_json_has_are_a_wire_error(text):
    for decode in DECODERS:
        with pytest.raises(WireError):
            decode(text)
