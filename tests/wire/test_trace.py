"""A packed trace gives back every reading; its hash is that of its CSV text."""

import csv
import hashlib
import io
import lzma
import math

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import astuple, replace

from ramphold.core import Quality, Reading
from ramphold.errors import WireError
from ramphold.wire import (
    TRACE_HEADER,
    pack_trace,
    scaled,
    trace_digest,
    trace_lines,
    trace_sha256,
    unpack_trace,
)

READINGS = [
    Reading(t_ns=1_000, force_lbf=scaled(1234, -1), raw=1234, exponent=-1, unit="lbf"),
    Reading(t_ns=101_000, force_lbf=math.nan, quality=Quality.GARBLED, line=b"\xff,?\n"),
    Reading(t_ns=201_007, force_lbf=97.25, raw=8_388_607, unit="count"),
]


def shown(readings):
    """Readings so that they compare, as not a number equals nothing."""
    return [str(astuple(one)) for one in readings]


def any_reading():
    return st.builds(
        Reading,
        t_ns=st.integers(-(2**63), 2**63 - 1),
        force_lbf=st.floats(allow_nan=False),
        quality=st.sampled_from(Quality),
        raw=st.integers(-(2**40), 2**40),
        exponent=st.integers(-9, 9),
        unit=st.sampled_from(["lbf", "kN", "count"]),
        line=st.binary(max_size=20),
    )


@given(st.lists(any_reading(), max_size=30))
def test_any_readings_come_back_as_they_were_and_keep_their_hash(readings):
    back = unpack_trace(pack_trace(readings))
    assert back == readings
    assert trace_sha256(back) == trace_sha256(readings)


@given(st.lists(any_reading(), max_size=30))
def test_the_digest_of_a_packed_trace_is_that_of_its_readings(readings):
    assert trace_digest(pack_trace(readings)) == (len(readings), trace_sha256(readings))


def test_the_digest_of_readings_without_a_number_is_that_of_the_readings():
    readings = [*READINGS, replace(READINGS[0], force_lbf=-0.0), replace(READINGS[0], unit="%d")]
    assert trace_digest(pack_trace(readings)) == (5, trace_sha256(readings))


@given(st.floats(1e-4, 1e16, exclude_max=True) | st.floats(-1e16, -1e-4, exclude_min=True))
def test_the_json_encoder_writes_a_number_of_this_size_as_python_does(number):
    # By which `trace_digest` is fast.
    assert msgspec.json.encode(number).decode() == repr(number)


def test_readings_without_a_number_come_back_without_one():
    assert shown(unpack_trace(pack_trace(READINGS))) == shown(READINGS)


def test_a_trace_is_csv_that_any_reader_takes():
    rows = list(csv.DictReader(io.StringIO("".join(trace_lines(READINGS)))))
    assert ",".join(rows[0]) == TRACE_HEADER
    assert [row["raw"] for row in rows] == ["1234", "0", "8388607"]
    assert [row["force_lbf"] for row in rows] == ["123.4", "", "97.25"]
    assert bytes.fromhex(rows[1]["line"]) == b"\xff,?\n"


def test_the_hash_is_that_of_the_exported_text():
    text = "".join(trace_lines(READINGS)).encode()
    assert trace_sha256(READINGS) == hashlib.sha256(text).hexdigest()


def test_any_changed_reading_changes_the_hash():
    seen = {trace_sha256(READINGS)}
    for number, one in enumerate(READINGS):
        for change in ({"t_ns": one.t_ns + 1}, {"raw": one.raw + 1}, {"quality": Quality.FAULT}):
            readings = list(READINGS)
            readings[number] = replace(one, **change)
            seen.add(trace_sha256(readings))
    assert len(seen) == 10


def test_a_steady_four_minute_run_at_80_a_second_packs_small():
    readings = [
        Reading(t_ns=n * 12_500_000 + n % 7, force_lbf=float(n), raw=n, unit="lbf")
        for n in range(19_200)
    ]
    assert len(pack_trace(readings)) < 20_000


@pytest.mark.parametrize(
    "packed",
    [
        b"",
        b"rubbish",
        lzma.compress(b"[]"),
        pack_trace(READINGS)[:-20],
        lzma.compress(b'{"version":1,"start_ns":0,"step_ns":0,"off_ns":[],"raw":[1],'
                      b'"forms":[["good",0,"lbf",1000000000000]],"force":[null],"lines":{}}'),
        lzma.compress(b'{"version":2,"start_ns":0,"step_ns":0,"off_ns":[],"raw":[],'
                      b'"forms":[],"force":[],"lines":{}}'),
        lzma.compress(b'{"version":1,"start_ns":0,"step_ns":0,"off_ns":[],"raw":[1],'
                      b'"forms":[["good",999999999,"lbf",1]],"force":[null],"lines":{}}'),
    ],
)  # fmt: skip
def test_what_is_no_packed_trace_is_refused(packed):
    for read in (unpack_trace, trace_digest):
        with pytest.raises(WireError, match="trace"):
            read(packed)


@given(st.binary(max_size=200))
def test_rubbish_never_raises_anything_else(rubbish):
    with pytest.raises(WireError):
        unpack_trace(rubbish)
