"""Unusual values of the bench's configuration: those in use now, and in a stretch of time."""

from collections.abc import Iterable

from ramphold.sample._bench_records import Record, UnusualValueKept


def unusual_now(records: Iterable[Record]) -> tuple[UnusualValueKept, ...]:
    """Those in use at the end of the records, by key."""
    newest = {one.key: one for one in records if isinstance(one, UnusualValueKept)}
    return tuple(one for one in newest.values() if one.in_use)


def unusual_between(
    records: Iterable[UnusualValueKept], since_ns: int, until_ns: int
) -> tuple[UnusualValueKept, ...]:
    """Those in use at any time between two, UTC in ns, in the order in which they were kept."""
    before: dict[str, UnusualValueKept] = {}
    within = []
    for one in records:
        if one.utc_ns <= since_ns:
            before[one.key] = one
        elif one.utc_ns <= until_ns:
            within.append(one)
    return tuple(one for one in (*before.values(), *within) if one.in_use)
