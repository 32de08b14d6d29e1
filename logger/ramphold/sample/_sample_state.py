"""The state of a sample, from the kinds of its records alone, so that a list is cheap."""

from collections.abc import Sequence
from enum import StrEnum

from ramphold.errors import CommandRefused
from ramphold.keys.person_signature import same_name
from ramphold.sample._bench_records import Record
from ramphold.sample._people import People
from ramphold.sample._sample_records import (
    BaseRecord,
    ReportIssued,
    Reviewed,
    SampleReceived,
    StressPlanned,
)


class SampleState(StrEnum):
    """From received to reported; a record after a review or a report puts it back in test."""

    RECEIVED = "received"
    IN_TEST = "in test"
    REVIEWED = "reviewed"
    REPORTED = "reported"


def kind_name(kind: type[BaseRecord]) -> str:
    """The `kind` of such records."""
    return str(kind.__struct_config__.tag)


_BEFORE_TESTS = {kind_name(SampleReceived), kind_name(StressPlanned), "sample correction"}
_REVIEW, _REPORT = kind_name(Reviewed), kind_name(ReportIssued)


def state_of(kinds: Sequence[str]) -> SampleState:
    """The state of a sample whose records are of these kinds, in order."""
    last = kinds[-1] if kinds else ""
    if last == _REPORT:
        return SampleState.REPORTED
    if last == _REVIEW:
        return SampleState.REVIEWED
    if set(kinds) <= _BEFORE_TESTS:
        return SampleState.RECEIVED
    return SampleState.IN_TEST


def check_review(records: Sequence[Record], reviewer: str, people: People) -> None:
    """Check that somebody may review a sample.

    Args:
        records: of the sample.
        reviewer: initials.
        people: who signs at the bench, so that one person with two initials is known.

    Raises:
        CommandRefused: the reviewer recorded part of it, or nothing was tested.
    """
    if state_of([kind_name(type(one)) for one in records]) is SampleState.RECEIVED:
        raise CommandRefused(
            "nothing of this sample has been tested yet: there is nothing to review"
        )
    own = [one for one in records if not isinstance(one, Reviewed | ReportIssued)]
    for initials in dict.fromkeys(one.operator for one in own):
        if people.is_the_same_person(initials, reviewer):
            as_whom = "" if same_name(initials, reviewer) else f", as {initials}"
            raise CommandRefused(
                f"{reviewer} recorded part of this sample{as_whom}: expected a reviewer who did not"
            )
