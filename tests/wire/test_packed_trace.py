"""A packed trace gives back every reading; its hash is that of its CSV text."""

import csv
import gzip
import hashlib
import io
import json
import math
import statistics
import tracemalloc
from itertools import groupby, pairwise

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import astuple, replace

from ramphold.core import Quality, Reading
from ramphold.core.trace import Trace
from ramphold.errors import InputError, WireError
from ramphold.units import FORCE_UNITS
from ramphold.wire import scaled
from ramphold.wire._packed_text import packed_digest
from ramphold.wire.packed_trace import (
    TRACE_HEADER,
    pack_trace,
    packed_sha256,
    trace_lines,
    trace_sha256,
    unpack_trace,
)

READINGS = [
    Reading(t_ns=1_000, force_lbf=scaled(1234, -1), raw=1234, exponent=-1, unit="lbf"),
    Reading(t_ns=101_000, force_lbf=math.nan, quality=Quality.GARBLED, line=b"\xff,?\n"),
    Reading(t_ns=201_007, force_lbf=97.25, raw=8_388_607, unit="count"),
]
TRACE = Trace.of(READINGS)


INT64 = st.integers(-(2**63), 2**63 - 1)


def any_reading():
    return st.builds(
        Reading,
        t_ns=INT64,
        force_lbf=st.floats(),
        quality=st.sampled_from(Quality),
        raw=INT64 | st.integers(-(2**24), 2**24),
        exponent=st.integers(-20, 20),
        unit=st.sampled_from(["lbf", "kN", "count", ""]),
        line=st.binary(max_size=20),
    )


any_readings = st.lists(any_reading(), max_size=30)


def plain_text(readings):
    """The text of a packed trace in plain Python, reading by reading."""
    times = [one.t_ns for one in readings]
    steps = [after - before for before, after in pairwise(times)]
    step_ns = round(statistics.median(steps)) if steps else 0
    forms = [(one.quality, one.exponent, one.unit) for one in readings]
    return {
        "version": 1,
        "start_ns": times[0] if times else 0,
        "step_ns": step_ns,
        "off_ns": [step - step_ns for step in steps],
        "raw": [after - before for before, after in pairwise([0, *(r.raw for r in readings)])],
        "forms": [[*form, len(list(same))] for form, same in groupby(forms)],
        "force": [plain_force(one) for one in readings],
        "lines": {str(n): one.line for n, one in enumerate(readings) if one.line},
    }


def plain_force(one):
    numbered = one.quality in (Quality.GOOD, Quality.UNSTEADY) and one.unit in FORCE_UNITS
    printed = scaled(one.raw, one.exponent, FORCE_UNITS[one.unit]) if numbered else math.nan
    force = one.force_lbf
    if force == printed or (math.isnan(force) and math.isnan(printed)):
        return None
    return force if math.isfinite(force) else repr(force)


def plain_csv(readings):
    """The CSV text in plain Python, reading by reading."""
    text = f"{TRACE_HEADER}\n"
    for one in readings:
        force = "" if math.isnan(one.force_lbf) else repr(one.force_lbf + 0.0)
        text += f"{one.t_ns},{one.raw},{one.exponent},{one.unit},{one.quality},{force},"
        text += f"{one.line.hex()}\n"
    return text


def shown(readings):
    """Readings so that they compare, as not a number equals nothing, and zeros by their sign."""
    return [str(astuple(one)) for one in readings]


@given(any_readings)
def test_any_readings_come_back_as_they_were_and_keep_their_hash(readings):
    trace = Trace.of(readings)
    back = unpack_trace(pack_trace(trace))
    # A zero that the digits say has no sign.
    zeros = [replace(one, force_lbf=one.force_lbf + 0.0) for one in readings]
    assert shown(replace(one, force_lbf=one.force_lbf + 0.0) for one in back.readings()) == shown(
        zeros
    )
    assert back == trace
    assert trace_sha256(back) == trace_sha256(trace)


@given(any_readings)
def test_columns_give_the_texts_that_plain_python_gives(readings):
    trace = Trace.of(readings)
    assert trace.readings() == readings or any(math.isnan(one.force_lbf) for one in readings)
    assert "".join(trace_lines(trace)) == plain_csv(readings)
    assert gzip.decompress(pack_trace(trace)) == msgspec.json.encode(plain_text(readings))


@given(any_readings)
def test_the_hash_of_the_packed_text_is_that_of_what_is_unpacked(readings):
    trace = Trace.of(readings)
    text = gzip.decompress(pack_trace(trace))
    assert packed_sha256(trace) == hashlib.sha256(text).hexdigest()
    assert packed_digest(pack_trace(trace), len(readings)) == packed_sha256(trace)


def test_the_hashes_of_a_trace_stay_what_they_are():
    # The texts are what the laboratory's archive holds hashes of: made by the first version.
    assert trace_sha256(TRACE) == (
        "47398efec09b63bde71eb8bed260447210fe70f0fff434f55235fb4f57729796"
    )
    assert packed_sha256(TRACE) == (
        "0f7906262e57a9ad3c7c9dfa867dc996795fa962c73ca9f04ada915f3134edc5"
    )


@pytest.mark.parametrize("name", ["t_ns", "raw"])
@pytest.mark.parametrize("number", [2**63, -(2**63) - 1, 10**30])
def test_times_and_digits_beyond_64_bits_are_refused_when_a_trace_is_made(name, number):
    with pytest.raises(InputError, match="beyond 64 bits"):
        Trace.of([replace(READINGS[0], **{name: number})])


@pytest.mark.parametrize(
    ("name", "numbers"),
    [("raw", [2**62, 2**62]), ("raw", [2**63, 0]), ("raw", [-(2**63), -1]), ("raw", [10**30, 0]),
     ("off_ns", [2**63]), ("off_ns", [10**30]), ("start_ns", 2**63), ("step_ns", -(2**63) - 6),
     ("step_ns", 2**63 - 4)],
)  # fmt: skip
def test_a_packed_trace_with_sums_beyond_64_bits_is_refused(name, numbers):
    text = {"version": 1, "start_ns": 5, "step_ns": 0, "off_ns": [0], "raw": [0, 0],
            "forms": [["good", 0, "lbf", 2]], "force": [None, None], "lines": {}}  # fmt: skip
    whole = gzip.compress(msgspec.json.encode(text))
    assert len(unpack_trace(whole)) == 2
    packed = gzip.compress(msgspec.json.encode(text | {name: numbers}))
    with pytest.raises(WireError, match="trace"):
        unpack_trace(packed)


@given(st.lists(INT64, min_size=1, max_size=5), INT64)
def test_times_since_a_start_are_exact_or_refused(times, zero_ns):
    trace = Trace.of(Reading(t_ns=t_ns, force_lbf=0.0) for t_ns in times)
    since = [t_ns - zero_ns for t_ns in times]
    if all(-(2**63) <= one < 2**63 for one in since):
        assert trace.since(zero_ns).t_ns.tolist() == since
        assert trace.since(zero_ns).t_s.tolist() == [one / 1e9 for one in since]
    else:
        with pytest.raises(InputError):
            trace.since(zero_ns)


def test_readings_without_a_number_come_back_without_one():
    assert shown(unpack_trace(pack_trace(TRACE)).readings()) == shown(READINGS)


def test_a_trace_is_csv_that_any_reader_takes():
    rows = list(csv.DictReader(io.StringIO("".join(trace_lines(TRACE)))))
    assert ",".join(rows[0]) == TRACE_HEADER
    assert [row["raw"] for row in rows] == ["1234", "0", "8388607"]
    assert [row["force_lbf"] for row in rows] == ["123.4", "", "97.25"]
    assert bytes.fromhex(rows[1]["line"]) == b"\xff,?\n"


def test_a_zero_has_no_sign_in_the_exported_text():
    trace = Trace.of([Reading(t_ns=1, force_lbf=-0.0, unit="count")])
    assert "".join(trace_lines(trace)) == f"{TRACE_HEADER}\n1,0,0,count,good,0.0,\n"


def test_the_hash_is_that_of_the_exported_text():
    text = "".join(trace_lines(TRACE)).encode()
    assert trace_sha256(TRACE) == hashlib.sha256(text).hexdigest()


@pytest.mark.parametrize("digest", [trace_sha256, packed_sha256])
def test_any_changed_reading_changes_the_hash(digest):
    seen = {digest(TRACE)}
    for number, one in enumerate(READINGS):
        for change in ({"t_ns": one.t_ns + 1}, {"raw": one.raw + 1}, {"quality": Quality.FAULT}):
            readings = list(READINGS)
            readings[number] = replace(one, **change)
            seen.add(digest(Trace.of(readings)))
    assert len(seen) == 10


def test_a_steady_four_minute_run_at_80_a_second_packs_small():
    readings = [
        Reading(t_ns=n * 12_500_000 + n % 7, force_lbf=float(n), raw=n, unit="lbf")
        for n in range(19_200)
    ]
    assert len(pack_trace(Trace.of(readings))) < 20_000


@pytest.mark.parametrize(
    "packed",
    [
        b"",
        b"rubbish",
        gzip.compress(b"[]"),
        pack_trace(TRACE)[:-20],
        gzip.compress(b'{"version":1,"start_ns":0,"step_ns":0,"off_ns":[],"raw":[1],'
                      b'"forms":[["good",0,"lbf",1000000000000]],"force":[null],"lines":{}}'),
        gzip.compress(b'{"version":2,"start_ns":0,"step_ns":0,"off_ns":[],"raw":[],'
                      b'"forms":[],"force":[],"lines":{}}'),
        gzip.compress(b'{"version":1,"start_ns":0,"step_ns":0,"off_ns":[],"raw":[1],'
                      b'"forms":[["good",999999999,"lbf",1]],"force":[null],"lines":{}}'),
    ],
    ids=[
        "empty", "rubbish", "a list", "cut", "huge exponent", "newer version", "deep exponent",
    ],
)  # fmt: skip
def test_what_is_no_packed_trace_is_refused(packed):
    with pytest.raises(WireError, match="trace"):
        unpack_trace(packed)


@pytest.mark.parametrize("raw", [17514414707169443, -17514414707169443, 15845739176315931])
def test_digits_that_no_float_holds_are_read_as_they_are_printed(raw):
    # Half way between two floats; divided as a float, it would be rounded twice.
    read = Reading(t_ns=1, force_lbf=scaled(raw, -1), raw=raw, exponent=-1, unit="lbf")
    packed = pack_trace(Trace.of([read]))
    assert unpack_trace(packed).readings() == [read]
    assert json.loads(gzip.decompress(packed))["force"] == [None]


def test_a_force_that_the_digits_of_its_own_unit_give_is_not_kept_beside_them():
    kinds = [("lbf", -1), ("kN", -2), ("N", 0)]
    readings = [
        Reading(t_ns=n, force_lbf=scaled(1234, exponent, FORCE_UNITS[unit]), raw=1234,
                exponent=exponent, unit=unit)
        for n, (unit, exponent) in enumerate(kinds)
    ]  # fmt: skip
    packed = pack_trace(Trace.of(readings))
    assert json.loads(gzip.decompress(packed))["force"] == [None] * 3
    assert unpack_trace(packed).readings() == readings


def test_what_gzip_can_not_read_is_told_in_its_words_and_not_as_cut_short():
    with pytest.raises(WireError, match=r"not a packed trace: Error -3 .* header check"):
        unpack_trace(b"rubbish")


@pytest.mark.parametrize("index", [-1, 2, 3])
def test_a_line_of_no_reading_is_left_out(index):
    text = {"version": 1, "start_ns": 5, "step_ns": 0, "off_ns": [0], "raw": [0, 0],
            "forms": [["good", 0, "lbf", 2]], "force": [None, None]}  # fmt: skip
    lines = {str(index): b"?", "1": b"!"}
    trace = unpack_trace(gzip.compress(msgspec.json.encode(text | {"lines": lines})))
    assert trace.lines == {1: b"!"}


@given(st.binary(max_size=200))
def test_rubbish_never_raises_anything_else(rubbish):
    for read in (unpack_trace, lambda packed: packed_digest(packed, 3)):
        with pytest.raises(WireError):
            read(rubbish)


def numbers(*, raw=b"[1,2]", forms=b'[["good",0,"lbf",2]]', off=b"[0]"):
    """A packed trace with these columns."""
    return gzip.compress(
        b'{"version":1,"start_ns":0,"step_ns":0,"off_ns":%b,"raw":%b,"forms":%b,'
        b'"force":[null,null],"lines":{}}' % (off, raw, forms)
    )


@pytest.mark.parametrize(
    ("packed", "told"),
    [
        (numbers(forms=b'[["good",0,"lbf",3]]'), "forms are not those of 2 readings"),
        (numbers(forms=b'[["good",0,"lbf",2],["good",1,"lbf",0]]'), "forms are not those of 2"),
        (numbers(forms=b'[["good",0,"lbf",3],["good",1,"lbf",-1]]'), "forms are not those of 2"),
        (numbers(off=b"[]"), "times or forces are not those of 2 readings"),
        (numbers(off=b"[0,0]"), "times or forces are not those of 2 readings"),
        (numbers(raw=b"[1]", forms=b'[["good",0,"lbf",1]]'), "times or forces are not those of 1"),
        (numbers(raw=b"[1]", off=b"[]", forms=b'[["good",0,"lbf",1]]'), "not those of 1 readings"),
        (
            gzip.compress(gzip.decompress(numbers()).replace(b'"version":1', b'"version":2')),
            "packed by version 2: expected 1",
        ),
    ],
)
def test_columns_of_different_lengths_and_another_version_are_refused(packed, told):
    for read in (unpack_trace, lambda packed: packed_digest(packed, 2)):
        with pytest.raises(WireError, match=told):
            read(packed)


@pytest.mark.parametrize("readings", [0, 1, 3])
def test_a_trace_of_another_number_of_readings_has_no_hash(readings):
    assert packed_digest(numbers(), 2)
    with pytest.raises(WireError, match=f"a trace of 2 readings: expected {readings}"):
        packed_digest(numbers(), readings)


HUGE = b"9" * 4300


@pytest.mark.parametrize(
    "packed",
    [
        numbers(raw=b"[%b,-%b]" % (HUGE, HUGE)),
        numbers(off=b"[%b]" % HUGE),
        numbers(forms=b'[["good",0,"lbf",%b],["good",1,"lbf",%b]]' % (HUGE, HUGE)),
        numbers(forms=b'[["good",%b,"lbf",2]]' % HUGE),
        numbers(raw=b"[-" + b"1" * 21 + b",1]"),
    ],
)
def test_numbers_of_thousands_of_digits_are_refused_before_they_are_decoded(packed):
    for read in (unpack_trace, lambda packed: packed_digest(packed, 2)):
        with pytest.raises(WireError, match=r"more than 20 digits|too long"):
            read(packed)


def test_many_digits_in_a_line_that_could_not_be_decoded_are_no_number():
    digits = bytes.fromhex("d75d75") * 20
    trace = Trace.of([replace(READINGS[1], line=digits)])
    packed = pack_trace(trace)
    assert b"1" * 80 in gzip.decompress(packed)
    assert unpack_trace(packed) == trace
    assert packed_digest(packed, 1) == packed_sha256(trace)


def test_of_a_trace_no_more_is_unpacked_than_its_readings_can_take():
    many = 3_000_000
    column = b"[" + b"0," * (many - 1) + b"0]"
    bomb = numbers(raw=column, off=column, forms=b'[["good",0,"lbf",%d]]' % many)
    assert len(bomb) < 20_000
    for readings in (2, 1000):
        tracemalloc.start()
        with pytest.raises(WireError, match="cut short, or too long"):
            packed_digest(bomb, readings)
        assert tracemalloc.get_traced_memory()[1] < 2_000_000
        tracemalloc.stop()
    with pytest.raises(WireError, match="too many readings"):
        packed_digest(bomb, many)


def test_a_trace_may_have_a_million_readings_and_no_more():
    with pytest.raises(WireError, match="not a packed trace"):
        packed_digest(b"", 1_000_000)
    for readings in (1_000_001, -1):
        with pytest.raises(WireError, match="too many readings: expected 1000000 at most"):
            packed_digest(b"", readings)


def test_what_has_no_reading_begins_at_0_and_a_single_one_has_no_step():
    empty, single = (
        json.loads(gzip.decompress(pack_trace(Trace.of(READINGS[:count])))) for count in (0, 1)
    )
    assert (empty["start_ns"], empty["step_ns"]) == (0, 0)
    assert (single["start_ns"], single["step_ns"]) == (1_000, 0)
