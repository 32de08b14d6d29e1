"""The state of the archive, for people and programs."""

from collections.abc import Sequence

from msgspec import Raw, Struct

from ramphold.collector.archive import Archive, BenchSeries, QuarantinedMessages

# Of many gaps the first are enough to see.
_MOST_GAPS = 20


class BenchStatus(Struct, frozen=True, kw_only=True):
    """One series of a bench.

    Attributes:
        bench, series: its names.
        online: whether the bench's daemon is connected.
        heard_utc_ns: when it was last heard from, by the collector's clock.
        filed, newest: number of filed records, and the greatest number among them.
        waiting: how many records, as the bench says, wait to be sent or for their receipt.
        missing: first and last number of each gap, the lowest twenty.
        state: all that the bench last said; null before it said anything.
        in_force: false for a series that a newer one has replaced.
    """

    bench: str
    series: str
    online: bool
    heard_utc_ns: int
    filed: int
    newest: int
    waiting: int
    missing: list[tuple[int, int]]
    state: Raw
    in_force: bool


class CollectStatus(Struct, frozen=True, kw_only=True):
    """The archive.

    Attributes:
        archive: its name.
        benches: each series of each bench.
        doubled: names that two benches share.
        quarantine: what could not be filed, by bench.
    """

    archive: str
    benches: list[BenchStatus]
    doubled: list[str]
    quarantine: list[QuarantinedMessages]

    @property
    def well(self) -> bool:
        """Whether nothing is missing and no benches share a name."""
        return not self.doubled and not any(one.missing for one in self.benches if one.in_force)


def collect_status(archive: Archive) -> CollectStatus:
    """The present state of the archive.

    Raises:
        StoreError: it cannot be read.
    """
    with archive.snapshot():
        benches = archive.benches()
        return CollectStatus(
            archive=archive.name,
            benches=[_bench(archive, one) for one in benches],
            doubled=sorted(doubled(benches)),
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


def _bench(archive: Archive, one: BenchSeries) -> BenchStatus:
    return BenchStatus(
        bench=one.bench,
        series=one.series,
        online=one.online,
        heard_utc_ns=one.heard_utc_ns,
        filed=one.filed,
        newest=one.newest,
        waiting=one.told_waiting,
        missing=archive.gaps(one)[:_MOST_GAPS],
        state=Raw(b"null" if one.state is None else one.state.encode()),
        in_force=one.in_force,
    )
