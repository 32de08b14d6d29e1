"""Numberings that contradict what was filed before: both stories, and a person's decision."""

from collections.abc import Iterator

from msgspec import Struct

from ramphold.collector._series_standing import ForkVerdict, Standing, first_difference, settle
from ramphold.collector.archive import Archive
from ramphold.errors import InputError
from ramphold.keys.person_key import OpenedKey, Signer

_SHORTEST = 6
_MOST_SAMPLES = 20


class Story(Struct, frozen=True, kw_only=True):
    """What one series says of the record at which two differ.

    Attributes:
        series, bench: whose it is.
        kind, operator, utc_ns: of the record; empty if that series has none of the number.
        body: the record itself.
    """

    series: str
    bench: str
    kind: str = ""
    operator: str = ""
    utc_ns: int = 0
    body: str = ""


class Dispute(Struct, frozen=True, kw_only=True):
    """A disputed series.

    Attributes:
        record: the first record that differs; None if all agree, and another bench sends them.
        filed, arrived: what the series that was heard of first says of it, and the disputed one.
        samples: laboratory numbers that the disputed one tells in other words, or alone.
    """

    record: int | None
    filed: Story
    arrived: Story
    samples: list[str]


class Decided(Struct, frozen=True, kw_only=True):
    """A person's decision; `statement` is what was signed."""

    series: str
    against: str
    verdict: str
    statement: str
    key: str
    signature: str


def disputes(archive: Archive) -> list[Dispute]:
    """Every dispute that nobody has decided.

    Raises:
        StoreError: the archive cannot be read.
    """
    rows = archive.database.rows(
        "SELECT a.series, a.bench, b.series, b.bench FROM benches a JOIN benches b "
        "ON b.series = a.against WHERE a.standing = ? ORDER BY a.bench, a.series",
        (Standing.DISPUTED.value,),
    )
    return [_dispute(archive, *row) for row in rows]


def decide(  # noqa: PLR0913 - a decision has so many parts
    archive: Archive,
    typed: str,
    verdict: str,
    reason: str,
    *,
    by: OpenedKey,
    utc_ns: int,
) -> Decided:
    """Decide a dispute.

    Args:
        archive: where it is.
        typed: the disputed series, or the first digits of its name.
        verdict: `filed`, `arrived` or `both`.
        reason: why.
        by: the person who decides, and the key to sign with.
        utc_ns: now.

    Raises:
        InputError: there is no such dispute, or no such verdict.
        StoreError: the archive cannot be used.
    """
    if verdict not in list(ForkVerdict) or not reason.strip():
        raise InputError("a decision: expected filed, arrived or both, and --reason TEXT")
    with archive.transaction():
        dispute = _find(archive, typed)
        statement = _statement(archive, dispute, verdict, reason, by.person, utc_ns)
        done = Decided(
            series=dispute.arrived.series,
            against=dispute.filed.series,
            verdict=verdict,
            statement=statement,
            key=by.person.key,
            signature=by.sign(statement.encode()),
        )
        archive.database.write(
            "INSERT INTO decisions (series, against, verdict, statement, key, signature) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            (done.series, done.against, verdict, statement, done.key, done.signature),
        )
        settle(archive.database, done.series, utc_ns, ())
    return done


def decisions(archive: Archive) -> list[Decided]:
    """Every decision, in order.

    Raises:
        StoreError: the archive cannot be read.
    """
    rows = archive.database.rows(
        "SELECT series, against, verdict, statement, key, signature FROM decisions ORDER BY number"
    )
    names = Decided.__struct_fields__
    return [Decided(**dict(zip(names, row, strict=True))) for row in rows]


def _find(archive: Archive, typed: str) -> Dispute:
    there = disputes(archive)
    found = [one for one in there if one.arrived.series.startswith(typed.lower())]
    if len(typed) < _SHORTEST or len(found) != 1:
        known = ", ".join(one.arrived.series[:8] for one in there) or "none"
        raise InputError(f"{typed[:40]!r}: expected the name of one disputed series: {known}")
    return found[0]


def _statement(  # noqa: PLR0913, PLR0917 - what is signed
    archive: Archive, dispute: Dispute, verdict: str, reason: str, person: Signer, utc_ns: int
) -> str:
    def ends(series: str) -> str:
        rows = archive.database.rows(
            "SELECT record, link FROM events WHERE series = ? ORDER BY record DESC LIMIT 1",
            (series,),
        )
        return f"{series} up to record {rows[0][0]}, link {rows[0][1]}"

    return "\n".join(
        (
            "ramphold decision 1",
            f"arrived {ends(dispute.arrived.series)}",
            f"filed {ends(dispute.filed.series)}",
            f"verdict {verdict}",
            f"reason {' '.join(reason.split())}",
            f"by {person.initials}, {person.name}, {person.function}",
            f"utc_ns {utc_ns}",
            "",
        )
    )


def _dispute(archive: Archive, series: str, bench: str, other: str, its_bench: str) -> Dispute:
    record = first_difference(archive.database, series, other)
    return Dispute(
        record=record,
        filed=_story(archive, other, its_bench, record),
        arrived=_story(archive, series, bench, record),
        samples=list(_samples(archive, series, other)),
    )


def _story(archive: Archive, series: str, bench: str, record: int | None) -> Story:
    rows = archive.database.rows(
        "SELECT kind, operator, utc_ns, body FROM events WHERE series = ? AND record = ?",
        (series, record or 0),
    )
    names = ("kind", "operator", "utc_ns", "body")
    told = dict(zip(names, rows[0], strict=True)) if rows else {}
    return Story(series=series, bench=bench, **told)


def _samples(archive: Archive, series: str, other: str) -> Iterator[str]:
    rows = archive.database.rows(
        "SELECT DISTINCT n.laboratory_number FROM events n WHERE n.series = ? "
        "AND n.laboratory_number IS NOT NULL AND EXISTS (SELECT 1 FROM events e "
        "WHERE e.series = n.series AND e.sample = n.sample AND NOT EXISTS (SELECT 1 FROM events o "
        "WHERE o.series = ? AND o.record = e.record AND o.link = e.link)) ORDER BY 1 LIMIT ?",
        (series, other, _MOST_SAMPLES),
    )
    return (number for (number,) in rows)
