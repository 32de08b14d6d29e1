"""A packed trace gives back every reading; its hash is that of its CSV text."""

import csv
import hashlib
import io
import lzma
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import astuple, replace

from ramphold.core import Quality, Reading
from ramphold.errors import WireError
from ramphold.wire import (
    TRACE_HEADER,
    pack_trace,
    packed_sha256,
    scaled,
    trace_lines,
    trace_sha256,
    unpack_trace,
)
from ramphold.wire._trace import packed_digest

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
def test_the_hash_of_the_packed_text_is_that_of_what_is_unpacked(readings):
    text = lzma.decompress(pack_trace(readings))
    assert packed_sha256(readings) == hashlib.sha256(text).hexdigest()
    assert packed_digest(pack_trace(readings)) == (len(readings), packed_sha256(readings))


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


@pytest.mark.parametrize("digest", [trace_sha256, packed_sha256])
def test_any_changed_reading_changes_the_hash(digest):
    seen = {digest(READINGS)}
    for number, one in enumerate(READINGS):
        for change in ({"t_ns": one.t_ns + 1}, {"raw": one.raw + 1}, {"quality": Quality.FAULT}):
            readings = list(READINGS)
            readings[number] = replace(one, **change)
            seen.add(digest(readings))
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
    with pytest.raises(WireError, match="trace"):
        unpack_trace(packed)


@given(st.binary(max_size=200))
def test_rubbish_never_raises_anything_else(rubbish):
    for read in (unpack_trace, packed_digest):
        with pytest.raises(WireError):
            read(rubbish)
