"""What is on the shaker, since when, and how long it was shaken."""

from collections.abc import Iterable
from dataclasses import dataclass

from ramphold.sample._bench_records import Record
from ramphold.sample._clock_marks import elapsed
from ramphold.sample._sample_records import (
    BaseRecord,
    ExclusionDecided,
    MassTaken,
    ShakingEnded,
    ShakingStarted,
)
from ramphold.sample._weighing_places import CRUSH, SIEVING, Load

_NS_PER_S = 1_000_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Shaking:
    """A stack put on the shaker; `ended` once somebody took it off."""

    started: ShakingStarted
    ended: ShakingEnded | None = None

    @property
    def planned_end_utc_ns(self) -> int:
        """When its time is up, UTC in ns."""
        return self.started.utc_ns + round(self.started.planned_s * _NS_PER_S)

    @property
    def shaken_s(self) -> float:
        """How long it was shaken, in s: as planned, since a shaker stops by itself, or shorter."""
        if self.ended is None:
            return self.started.planned_s
        passed_s, _ = elapsed(self.started, self.ended)
        return min(self.started.planned_s, max(passed_s, 0.0))

    @property
    def by_calendar(self) -> bool:
        """Whether that is a difference of the calendar, which may have been set meanwhile."""
        return self.ended is not None and not elapsed(self.started, self.ended)[1]

    def to_go_s(self, now: BaseRecord) -> float:
        """The time that it is still to be shaken, in s, at the time of a record."""
        return self.started.planned_s - elapsed(self.started, now)[0]


def newest_shaking(records: Iterable[Record], specimen: int | None) -> Shaking | None:
    """The last shaking of a specimen, or of the sieve analysis where none is given.

    Args:
        records: those of the sample or of the specimen, in order.
        specimen: the specimen's number.
    """
    found: Shaking | None = None
    for one in records:
        if isinstance(one, ShakingStarted) and one.specimen == specimen:
            found = Shaking(started=one)
        elif isinstance(one, ShakingEnded) and found and one.shaking == found.started.record:
            found = Shaking(started=found.started, ended=one)
    return found


def standing_shakings(records: Iterable[Record]) -> tuple[Shaking, ...]:
    """The shakings that have not ended, the earliest planned end first.

    A shaking ends when an operator ends it, when the material on a sieve or in the pan is weighed,
    when the same material is put on again, or when its specimen is excluded.

    Args:
        records: of any samples, in the order they were written.
    """
    there: dict[tuple[int | None, int | None], ShakingStarted] = {}
    for one in records:
        match one:
            case ShakingStarted():
                there[one.sample, one.specimen] = one
            case ShakingEnded():
                there = {key: on for key, on in there.items() if on.record != one.shaking}
            case MassTaken() if _of_what_was_shaken(one):
                there.pop((one.sample, one.specimen), None)
            case ExclusionDecided(excluded=True):
                there.pop((one.sample, one.specimen), None)
    return tuple(
        sorted(
            (Shaking(started=on) for on in there.values()), key=lambda one: one.planned_end_utc_ns
        )
    )


def _of_what_was_shaken(mass: MassTaken) -> bool:
    return (
        mass.test in (CRUSH, SIEVING)
        and mass.item != "charge"
        and mass.load is not Load.TARE
        and mass.corrects is None
    )
