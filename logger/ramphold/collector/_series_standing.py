"""Which numbering of a bench stands, where several tell of the same records.

What was filed is never put out of force by what arrives. A numbering that agrees with all that was
filed before goes on in its place; one that contradicts a filed record stands beside it, disputed,
until a person decides. Every function runs inside a transaction.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from enum import StrEnum

from ramphold.collector._archive_database import Database


class Standing(StrEnum):
    """What counts of a series.

    `in force`: it is shown. `behind`: it repeats what another has told, and has not caught up.
    `replaced`: another has told all of it and goes on. `disputed`: it contradicts another, or is
    another bench's with other records; nobody has decided. `void`: a person has decided so.
    """

    IN_FORCE = "in force"
    BEHIND = "behind"
    REPLACED = "replaced"
    DISPUTED = "disputed"
    VOID = "void"


class ForkVerdict(StrEnum):
    """What a person decides of a disputed series and the filed one that it contradicts.

    `filed`: the filed one stands, the disputed one is void. `arrived`: the disputed one takes its
    place. `both`: both stand, as of two databases.
    """

    FILED = "filed"
    ARRIVED = "arrived"
    BOTH = "both"


@dataclass(frozen=True, slots=True)
class _Numbering:
    series: str
    bench: str
    first_utc_ns: int
    newest: int
    origin: str | None
    fingerprint: str | None
    standing: str
    against: str | None


_ALL = (1, 2**53)
_FAMILY = (
    "SELECT series, bench, first_utc_ns, newest, origin, fingerprint, standing, against "
    "FROM benches WHERE bench = ? OR origin = ?"
)
_DIFFERENCE = """SELECT min(a.record) FROM events a JOIN events b
    ON b.series = ? AND b.record = a.record AND b.link <> a.link
    WHERE a.series = ? AND a.record BETWEEN ? AND ?"""
_SHARED = """SELECT 1 FROM events a JOIN events b
    ON b.series = ? AND b.record = a.record AND b.link = a.link WHERE a.series = ? LIMIT 1"""


def settle(
    database: Database, series: str, utc_ns: int, filed: Collection[int] | None = None
) -> None:
    """Look for contradictions of a series, and say anew how it and its relatives stand.

    Relatives have its bench's name, or its first record.

    Args:
        database: the archive.
        series: the series.
        utc_ns: now.
        filed: numbers that were filed just now; None to compare all.
    """
    family = _family(database, series)
    if len(family) == 1:
        return
    # Its first record, filed late, may have shown a relative that was not compared before.
    every = filed is None or 1 in filed
    if every or filed:
        numbers = _ALL if every or not filed else (min(filed), max(filed))
        _note_forks(database, series, family, numbers, utc_ns)
    _stand(database, family)


def first_difference(
    database: Database, series: str, other: str, numbers: tuple[int, int] = _ALL
) -> int | None:
    """The first record that two series tell otherwise, among some numbers; None if none."""
    ((record,),) = database.rows(_DIFFERENCE, (other, series, *numbers))
    return None if record is None else int(record)


def _family(database: Database, series: str) -> list[_Numbering]:
    """The series and its relatives, the one that was heard of first in front."""
    found: dict[str, _Numbering] = {}
    wanted = database.rows("SELECT bench, origin FROM benches WHERE series = ?", (series,))
    asked = set()
    while wanted:
        key = wanted.pop()
        if key in asked:
            continue
        asked.add(key)
        for row in database.rows(_FAMILY, key):
            one = _Numbering(*row)
            found[one.series] = one
            wanted.append((one.bench, one.origin))
    return sorted(found.values(), key=lambda one: (one.first_utc_ns, one.series))


def _note_forks(
    database: Database,
    series: str,
    family: Sequence[_Numbering],
    numbers: tuple[int, int],
    utc_ns: int,
) -> None:
    place = [one.series for one in family].index(series)
    for at, other in enumerate(family):
        if at == place:
            continue
        record = first_difference(database, series, other.series, numbers)
        if record is not None:
            later, earlier = (series, other.series) if place > at else (other.series, series)
            database.write(
                "INSERT INTO forks (series, against, record, utc_ns) VALUES (?, ?, ?, ?) "
                "ON CONFLICT (series, against) DO NOTHING",
                (later, earlier, record, utc_ns),
            )


def _stand(database: Database, family: Sequence[_Numbering]) -> None:
    forks = {row[:2] for row in database.rows("SELECT series, against FROM forks")}
    verdicts = {
        row[:2]: row[2]
        for row in database.rows("SELECT series, against, verdict FROM decisions ORDER BY number")
    }
    now: dict[str, tuple[str, str | None]] = {}
    for at, one in enumerate(family):
        now[one.series] = _of(database, one, family[:at], now, forks, verdicts)
    for one in family:
        for other in family:
            if verdicts.get((other.series, one.series)) == ForkVerdict.ARRIVED:
                now[one.series] = Standing.REPLACED, other.series
    for one in family:
        if now[one.series] != (one.standing, one.against):
            database.write(
                "UPDATE benches SET standing = ?, against = ? WHERE series = ?",
                (*now[one.series], one.series),
            )


def _of(  # noqa: PLR0913, PLR0917 - a family and what is known of it
    database: Database,
    one: _Numbering,
    earlier: Sequence[_Numbering],
    now: dict[str, tuple[str, str | None]],
    forks: set[tuple[str, ...]],
    verdicts: dict[tuple[str, ...], str],
) -> tuple[str, str | None]:
    """How a series stands; it may replace earlier ones in `now`."""
    standing: tuple[str, str | None] = (Standing.IN_FORCE, None)
    for other in earlier:
        pair = (one.series, other.series)
        if now[other.series][0] == Standing.VOID:
            continue
        if pair in verdicts:
            if verdicts[pair] == ForkVerdict.FILED:
                return Standing.VOID, other.series
            continue
        if pair in forks:
            return Standing.DISPUTED, other.series
        if not database.rows(_SHARED, (other.series, one.series)):
            continue
        if not _same_owner(one, other):
            return Standing.DISPUTED, other.series
        if now[other.series][0] == Standing.DISPUTED:
            return Standing.DISPUTED, now[other.series][1]
        if _covers(database, one, other):
            now[other.series] = Standing.REPLACED, one.series
        else:
            standing = Standing.BEHIND, other.series
    return standing


def _same_owner(one: _Numbering, other: _Numbering) -> bool:
    """Whether a series is of the same bench: by its name, or by the key that signs for both."""
    return one.bench == other.bench or (
        one.fingerprint is not None and one.fingerprint == other.fingerprint
    )


def _covers(database: Database, one: _Numbering, other: _Numbering) -> bool:
    if one.newest < other.newest:
        return False
    if (other.standing, other.against) == (Standing.REPLACED, one.series):
        return True
    ((there,),) = database.rows(
        "SELECT count(*) FROM events WHERE series = ? AND record <= ?", (one.series, other.newest)
    )
    return bool(there == other.newest)
