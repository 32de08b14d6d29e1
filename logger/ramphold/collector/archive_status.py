"""The state of the archive, for people and programs."""

from collections.abc import Sequence

from msgspec import Struct, structs

from ramphold.collector.archive import Archive, BenchSeries, QuarantinedMessages
from ramphold.collector.forks import Dispute, disputes

# Of many gaps the first are enough to see.
_MOST_GAPS = 20


class BenchStatus(BenchSeries, frozen=True, kw_only=True):
    """A series of a bench with its gaps.

    Attributes:
        missing: first and last number of each gap, the lowest twenty.
    """

    missing: list[tuple[int, int]]


class CollectStatus(Struct, frozen=True, kw_only=True):
    """The archive.

    Attributes:
        archive: its name.
        benches: each series of each bench.
        doubled: names that two benches share.
        disputes: series that contradict what was filed, until a person decides.
        quarantine: what could not be filed, by bench.
        key: fingerprint of the collector's key, or why there is none.
    """

    archive: str
    benches: list[BenchStatus]
    doubled: list[str]
    disputes: list[Dispute]
    quarantine: list[QuarantinedMessages]
    key: str = ""

    @property
    def well(self) -> bool:
        """Whether nothing is missing, refused, contradicted or disputed, and no two share a name.

        Forks alone do not count: a bench that was refused one has begun a new series.
        """
        wrong = any(one.missing or one.contradicted for one in self.benches if one.in_force)
        refused = any(one.messages > one.forks or one.dropped for one in self.quarantine)
        return not (self.doubled or self.disputes or wrong or refused)


def collect_status(archive: Archive) -> CollectStatus:
    """The present state of the archive.

    Raises:
        StoreError: it cannot be read.
    """
    with archive.snapshot():
        benches = archive.benches()
        return CollectStatus(
            archive=archive.name,
            benches=[
                BenchStatus(**structs.asdict(one), missing=archive.gaps(one)[:_MOST_GAPS])
                for one in benches
            ],
            doubled=sorted(doubled(benches)),
            disputes=disputes(archive),
            quarantine=archive.quarantined(),
        )


def doubled(benches: Sequence[BenchSeries]) -> set[str]:
    """Names that two databases use at a time: one was heard from after the other had begun."""
    there = [one for one in benches if one.in_force]
    return {
        one.bench
        for one in there
        for other in there
        if one.bench == other.bench
        and one.series != other.series
        and one.first_utc_ns <= other.first_utc_ns < one.heard_utc_ns
    }
