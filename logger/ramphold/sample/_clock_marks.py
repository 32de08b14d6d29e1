"""Durations by one clock, and what the records themselves say against the calendar. Pure.

A clock without a battery begins anywhere after a power cut, and a time server sets it while people
work. So each record holds the time of the boot beside the calendar's: within one boot that is
right whatever the calendar does; from one boot to the next there is the calendar alone.
"""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from itertools import pairwise

from msgspec import UNSET

from ramphold.sample._bench_records import CertificateTaken, Record
from ramphold.sample._run_records import RunFinished
from ramphold.sample._sample_records import BaseRecord
from ramphold.trust import age_words

_NS_PER_S = 1_000_000_000
_DAY_NS = 86_400 * _NS_PER_S
#: More than the calendar may leap against the time of the boot: a time server's usual step is less.
_TOLERANCE_S = 60.0


def elapsed(first: BaseRecord, later: BaseRecord) -> tuple[float, bool]:
    """The time from one record to a later one in s, and whether it is by the clock of one boot.

    By the calendar it may be anything, also negative.
    """
    one, other = first.clock, later.clock
    if one is not UNSET and other is not UNSET and one.boot == other.boot:
        return (other.t_ns - one.t_ns) / _NS_PER_S, True
    return (later.utc_ns - first.utc_ns) / _NS_PER_S, False


def clock_marks(
    records: Sequence[Record], certificates: Sequence[CertificateTaken]
) -> tuple[str, ...]:
    """What of the times in a sample's records is doubtful, a sentence each.

    Args:
        records: those of a sample, in the order they were written.
        certificates: those of the bench.
    """
    return (
        *_unsynchronised(records),
        *(mark for one, other in pairwise(records) for mark in _between(one, other)),
        *(mark for one in records if isinstance(one, RunFinished) for mark in _of_run(one)),
        *_from_the_future(records, certificates),
    )


def _unsynchronised(records: Sequence[Record]) -> Iterator[str]:
    stamps = [one.clock for one in records if one.clock is not UNSET]
    doubtful = sum(not one.synchronised for one in stamps)
    if doubtful:
        yield (
            f"{doubtful} of {len(records)} records were written while the clock was not known to "
            "be synchronised"
        )


def _between(one: Record, other: Record) -> Iterator[str]:
    names = f"record {one.record} and record {other.record}"
    calendar_s = (other.utc_ns - one.utc_ns) / _NS_PER_S
    real_s, by_boot = elapsed(one, other)
    if by_boot and abs(leap_s := calendar_s - real_s) > _TOLERANCE_S:
        way = "forward" if leap_s > 0 else "back"
        yield f"between {names} the calendar was set {way} by {age_words(abs(leap_s))}"
    elif not by_boot and calendar_s < -_TOLERANCE_S:
        yield (
            f"record {other.record} is dated {age_words(-calendar_s)} before record "
            f"{one.record}, which was written before it"
        )


def _of_run(run: RunFinished) -> Iterator[str]:
    lasted_s = max((one.t_s for one in run.moments), default=0.0)
    calendar_s = (run.ended_utc_ns - run.started_utc_ns) / _NS_PER_S
    if abs(calendar_s - lasted_s) > _TOLERANCE_S:
        way = "forward" if calendar_s > lasted_s else "back"
        leap = age_words(abs(calendar_s - lasted_s))
        yield f"in run {run.run} the calendar was set {way} by {leap}; its times in s are right"


def _from_the_future(
    records: Sequence[Record], certificates: Sequence[CertificateTaken]
) -> Iterator[str]:
    dates = {one.certificate: one.date for one in certificates}
    for run in records:
        if isinstance(run, RunFinished):
            for name in run.certificates:
                # Its date is the laboratory's own, which may be a day ahead of UTC.
                if dates.get(name, "") > day_text(run.started_utc_ns + _DAY_NS):
                    yield f"run {run.run} is dated before its certificate {name}, of {dates[name]}"


def day_text(utc_ns: int) -> str:
    """The day of a time in ns UTC, ISO 8601."""
    return datetime.fromtimestamp(utc_ns // _NS_PER_S, UTC).date().isoformat()
