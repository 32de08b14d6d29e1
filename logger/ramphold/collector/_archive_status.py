"""What the archive says of the benches, for people and programs."""

from collections.abc import Sequence

from msgspec import Raw, Struct

from ramphold.collector._archive import Archive, BenchSeries, QuarantinedMessages

__all__ = ["BenchStatus", "CollectStatus", "collect_status", "doubled"]

# Of a bench whose gaps are many, the first are enough to see.
_MOST_GAPS = 20


class BenchStatus(Struct, frozen=True, kw_only=True):
    """One series of a bench.

    Attributes:
        bench, series: whose.
        online: whether its daemon is there.
        heard_utc_ns: when it was last heard of, by the collector's clock.
        filed, newest: how many records are filed, and the greatest number among them.
        waiting: how many it says that wait to be sent or for their receipt.
        missing: first and last number of each gap, the lowest twenty.
        state: what it last told of itself; null before it did.
        in_force: false for a numbering that a newer one has replaced.
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
        archive: which one.
        benches: each series of each bench.
        doubled: names that two benches have.
        quarantine: what could not be filed, of each bench.
    """

    archive: str
    benches: list[BenchStatus]
    doubled: list[str]
    quarantine: list[QuarantinedMessages]

    @property
    def well(self) -> bool:
        """Whether nothing is missing and no name is doubled."""
        return not self.doubled and not any(one.missing for one in self.benches if one.in_force)


def collect_status(archive: Archive) -> CollectStatus:
    """How the archive stands.

    Raises:
        StoreError: it can't be read.
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
    """Names under which two databases go on: one was heard of after the other had begun."""
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
