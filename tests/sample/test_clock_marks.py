"""Times of records by two clocks: durations within one boot, and what contradicts the calendar.

Tolerances are our own (common practice, no source).
"""

import msgspec
import pytest

from ramphold.sample import (
    CertificateTaken,
    ClockStamp,
    RunFinished,
    SampleReceived,
    Shaking,
    ShakingEnded,
    ShakingStarted,
    StressPlanned,
    clock_marks,
    elapsed,
)
from ramphold.sample._clock_marks import day_text
from ramphold.wire import decode_body, encode_body

S = 10**9
DAY_S = 86_400
BEGAN_S = 1_790_000_000


def stamp(t_s, boot="one", *, synchronised=True):
    return ClockStamp(boot=boot, t_ns=round(t_s * S), synchronised=synchronised)


def planned(number, utc_s, clock=msgspec.UNSET):
    return StressPlanned(
        record=number, sample=1, operator="KL", utc_ns=round((BEGAN_S + utc_s) * S),
        stress_psi=4000.0, replicates=3, clock=clock,
    )  # fmt: skip


def shaken(planned_s, started, ended):
    """A shaking that began and ended at these times by calendar and boot."""
    (utc_s, on), (end_utc_s, off) = started, ended
    return Shaking(
        started=ShakingStarted(
            record=1, sample=1, specimen=None, operator="KL", utc_ns=round(utc_s * S),
            planned_s=planned_s, clock=on,
        ),
        ended=ShakingEnded(
            record=2, sample=1, specimen=None, operator="KL", utc_ns=round(end_utc_s * S),
            shaking=1, clock=off,
        ),
    )  # fmt: skip


def test_within_one_boot_a_duration_is_that_of_the_boot_whatever_the_calendar_says():
    one, other = planned(1, 0, stamp(100)), planned(2, -5 * DAY_S, stamp(130))
    assert elapsed(one, other) == (30.0, True)


@pytest.mark.parametrize(
    ("first", "later"),
    [
        (stamp(100), stamp(130, "two")),
        (msgspec.UNSET, stamp(130)),
        (stamp(100), msgspec.UNSET),
        (msgspec.UNSET, msgspec.UNSET),
    ],
)
def test_from_one_boot_to_the_next_it_is_the_calendars_and_said_to_be(first, later):
    assert elapsed(planned(1, 0, first), planned(2, 45, later)) == (45.0, False)


def test_a_leap_of_the_calendar_while_shaking_changes_no_time():
    """Taken off after a second, since a time server had set the clock ten minutes ahead."""
    one = shaken(600, (0, stamp(50)), (700, stamp(51)))
    assert (one.shaken_s, one.by_calendar) == (1.0, False)
    back = shaken(600, (0, stamp(50)), (-DAY_S, stamp(650)))
    assert (back.shaken_s, back.by_calendar) == (600.0, False)


def test_across_boots_the_calendar_counts_and_never_gives_less_than_nothing():
    one = shaken(600, (0, stamp(50)), (300, stamp(5, "two")))
    assert (one.shaken_s, one.by_calendar) == (300.0, True)
    assert shaken(600, (0, stamp(50)), (-DAY_S, stamp(5, "two"))).shaken_s == 0.0


def test_what_is_to_go_on_the_shaker_follows_the_boot():
    one = shaken(600, (0, stamp(50)), (0, stamp(50)))
    now = planned(3, -DAY_S, stamp(150))
    assert one.to_go_s(now) == 500.0


def test_records_in_order_by_a_synchronised_clock_have_no_mark():
    records = [planned(n, 30 * n, stamp(30 * n)) for n in range(5)]
    assert clock_marks(records, ()) == ()


@pytest.mark.parametrize("synchronised", [False, None])
def test_records_of_a_clock_that_nobody_kept_right_are_counted(synchronised):
    records = [planned(1, 0, stamp(0)), planned(2, 9, stamp(9, synchronised=synchronised))]
    (mark,) = clock_marks(records, ())
    assert mark.startswith("1 of 2 records were written while the clock was not known to be")


@pytest.mark.parametrize(
    ("leap_s", "words"),
    [
        (60, None),
        (-60, None),
        (61, "between record 1 and record 2 the calendar was set forward by 61 s"),
        (-61, "between record 1 and record 2 the calendar was set back by 61 s"),
        (7200, "between record 1 and record 2 the calendar was set forward by 2 h"),
        (-3 * DAY_S, "between record 1 and record 2 the calendar was set back by 3 days"),
    ],
)
def test_a_calendar_that_was_set_within_a_boot_is_told(leap_s, words):
    marks = clock_marks([planned(1, 0, stamp(10)), planned(2, 5 + leap_s, stamp(15))], ())
    assert marks == (() if words is None else (words,))


def test_a_record_that_is_dated_before_the_one_before_it_is_told():
    """As a sample that was crushed before it was received."""
    received = SampleReceived(
        record=4, sample=1, operator="KL", utc_ns=BEGAN_S * S, laboratory_number="x",
        client_reference="", material="sand", size="20/40", edition="2016",
    )  # fmt: skip
    (mark,) = clock_marks([received, planned(9, -2 * DAY_S)], ())
    assert mark == "record 9 is dated 2 days before record 4, which was written before it"


@pytest.mark.parametrize("apart_s", [5 * DAY_S, 45, 0, -60])
def test_records_of_two_boots_may_be_any_time_apart_and_a_minute_in_the_wrong_order(apart_s):
    assert clock_marks([planned(1, 0, stamp(100)), planned(2, apart_s, stamp(5, "two"))], ()) == ()


def run(started_s, ended_s, certificates=(), moments_s=(250.0,)):
    return RunFinished(
        record=7, sample=1, operator="KL", utc_ns=(BEGAN_S + ended_s) * S, run=3, specimen=1,
        state="complete", reason="", started_utc_ns=(BEGAN_S + started_s) * S,
        ended_utc_ns=(BEGAN_S + ended_s) * S, target_psi=4000.0, bore_in=2.0, rate_psi_min=2000.0,
        hold_s=120.0, ceiling_lbf=1.0, rating_lbf=1.0, band_pct=2.0, verdict="pass",
        moments=tuple({"t_s": t_s, "state": "x", "reason": ""} for t_s in moments_s),
        certificates=certificates,
        readings=0, trace_sha256="", packed_sha256="", record_sha256="",
    )  # fmt: skip


def finished(*given):
    return msgspec.convert(msgspec.to_builtins(run(*given)), RunFinished)


@pytest.mark.parametrize(
    ("ended_s", "words"),
    [
        (250, None),
        (310, None),
        (190, None),
        (311, "in run 3 the calendar was set forward by 61 s"),
        (250 - 6 * 365 * DAY_S, "in run 3 the calendar was set back by 2190 days"),
        (250 + 7200, "in run 3 the calendar was set forward by 2 h"),
    ],
)
def test_a_run_that_ended_at_no_time_it_can_have_ended_is_told(ended_s, words):
    marks = clock_marks([finished(0, ended_s)], ())
    assert [mark.partition(";")[0] for mark in marks] == ([] if words is None else [words])


def test_a_run_lasted_to_its_last_moment():
    assert clock_marks([finished(0, 250, (), (0.0, 5.0, 250.0))], ()) == ()


@pytest.mark.parametrize(("ended_s", "marks"), [(60, 0), (61, 1)])
def test_a_run_without_a_moment_lasted_no_time(ended_s, marks):
    assert len(clock_marks([finished(0, ended_s, (), ())], ())) == marks


def certificate(date):
    return CertificateTaken(
        operator="KL", utc_ns=0, certificate="C-1", instrument="load", serial="1", by="AB",
        date=date, due="2032-01-01", unit="lbf", expanded_uncertainty=1.0,
        coverage_factor=2.0, sha256="",
    )  # fmt: skip


def test_a_certificate_from_the_future_is_told():
    (mark,) = clock_marks([finished(0, 250, ("C-1",))], [certificate("2031-01-01")])
    assert mark == "run 3 is dated before its certificate C-1, of 2031-01-01"


@pytest.mark.parametrize(
    ("date", "marks"), [("2026-09-21", 0), ("2026-09-22", 0), ("2026-09-23", 1)]
)
def test_a_certificates_date_may_be_a_day_ahead_of_utc_and_no_more(date, marks):
    # 1 790 000 000 s UTC is 2026-09-21, 14:13:20; the last second of that day is 35 199 s later.
    last = finished(35_199, 35_449, ("C-1",))
    assert len(clock_marks([last], [certificate(date)])) == marks


def test_a_day_lasts_to_its_last_nanosecond():
    assert (day_text(DAY_S * S - 1), day_text(DAY_S * S)) == ("1970-01-01", "1970-01-02")


def test_a_record_without_a_stamp_is_written_as_ever():
    assert b"clock" not in encode_body(planned(1, 0))
    stamped = planned(1, 0, stamp(1))
    assert decode_body(encode_body(stamped)) == stamped
