"""Whether an archive is as it was filed, and a bench as what was filed of it."""

import contextlib
from collections.abc import Iterator, Mapping

from ramphold.collector._filed_trees import root_over
from ramphold.collector.archive import Archive, BenchSeries
from ramphold.collector.forks import decisions
from ramphold.errors import WireError
from ramphold.keys.ed25519 import is_signed
from ramphold.keys.merkle import MerkleTree
from ramphold.keys.signed_head import SignedHead
from ramphold.sample import People, RunFinished
from ramphold.wire import decode_body, link, signature_finding
from ramphold.wire.packed_trace import trace_sha256, unpack_trace

_PAGE = 5000
_EVENTS = (
    "SELECT record, body, before_link, previous, link FROM events WHERE series = ? AND record > ? "
    "ORDER BY record LIMIT ?"
)


def archive_findings(archive: Archive) -> Iterator[str]:
    """Everything in an archive that is not as it was filed or signed, a sentence each.

    Raises:
        StoreError: the archive cannot be read.
    """
    for bench in archive.benches():
        name = f"{bench.bench} {bench.series[:8]}"
        for text in (*_chain_findings(archive, bench), *_head_findings(archive, bench)):
            yield f"{name}: {text}"
    for one in decisions(archive):
        if not is_signed(one.key, one.signature, one.statement.encode()):
            yield f"the decision on series {one.series[:8]}: its signature is wrong"


def filed_findings(
    archive: Archive, links: Mapping[int, str], series: set[str], fingerprint: str
) -> Iterator[str]:
    """How the records of a bench differ from those that were filed of it, a sentence each.

    Args:
        archive: what was filed.
        links: the bench's links, by the number of the record.
        series: the names of its numberings.
        fingerprint: of the bench's key; empty if there is none.

    Raises:
        StoreError: the archive cannot be read.
    """
    own = [
        one
        for one in archive.benches()
        if one.standing != "void"
        and (
            one.series in series
            or (one.origin is not None and one.origin == links.get(1))
            or (fingerprint and one.fingerprint == fingerprint)
        )
    ]
    if not own:
        yield "nothing of this database was filed, or its numbering was changed"
    for one in own:
        filed = dict(_filed_links(archive, one.series))
        where = f"{one.bench} {one.series[:8]}"
        missing = sorted(filed.keys() - links.keys())
        if missing:
            yield f"{len(missing)} records filed of {where} are missing, the first {missing[0]}"
        other = [number for number in sorted(filed.keys() & links.keys())
                 if filed[number] != links[number]]  # fmt: skip
        if other:
            yield (
                f"{len(other)} records are not those that were filed of {where}, the first "
                f"{other[0]}"
            )


def _filed_links(archive: Archive, series: str) -> Iterator[tuple[int, str]]:
    last = 0
    while rows := archive.database.rows(_EVENTS, (series, last, _PAGE)):
        for record, body, _, previous, _ in rows:
            # Of the text as it is: a changed body shows, whatever its link says.
            yield record, link(previous, body.encode())
        last = rows[-1][0]


def _chain_findings(archive: Archive, bench: BenchSeries) -> Iterator[str]:
    last, before = 0, ""
    ends: dict[int | None, str] = {}
    people, gap = People(), False
    while rows := archive.database.rows(_EVENTS, (bench.series, last, _PAGE)):
        for record, body, before_link, previous, stored in rows:
            if record != last + 1:
                gap = True
                yield f"records {last + 1} to {record - 1} are missing"
            elif before_link != before:
                yield f"record {record} does not follow from record {last}"
            yield from _record_findings(archive, bench.series, (record, body, previous, stored),
                                        None if gap else ends)  # fmt: skip
            yield from _person_findings(people, body, previous)
            last, before = record, stored
    if last < bench.newest:
        yield f"records {last + 1} to {bench.newest} are missing"


def _record_findings(
    archive: Archive,
    series: str,
    row: tuple[int, str, str, str],
    ends: dict[int | None, str] | None,
) -> Iterator[str]:
    record, body, previous, stored = row
    if link(previous, body.encode()) != stored:
        yield f"record {record} was changed"
        return
    try:
        fact = decode_body(body)
        if ends is not None and ends.get(fact.sample, "") != previous:
            yield f"record {record} does not follow in the chain of its sample"
        if ends is not None:
            ends[fact.sample] = stored
        if isinstance(fact, RunFinished):
            run = archive.run(series, fact.run)
            if run is None:
                yield f"run {fact.run}: its trace is missing"
            elif run.rows.sha256() != fact.record_sha256:
                yield f"run {fact.run}: plan, commands, events or assessment were changed"
            elif trace_sha256(unpack_trace(run.trace)) != fact.trace_sha256:
                yield f"run {fact.run}: its readings are not those that were recorded"
    except WireError as error:
        yield f"record {record}: {error}"


def _person_findings(people: People, body: str, previous: str) -> Iterator[str]:
    with contextlib.suppress(WireError):  # told with the other findings of the record
        fact = decode_body(body)
        if wrong := signature_finding(people, fact, previous, body):
            yield wrong
        people.take(fact)


def _head_findings(archive: Archive, bench: BenchSeries) -> Iterator[str]:
    tree = MerkleTree()
    for word, count, root, utc_ns, key, signature, agrees in archive.database.rows(
        "SELECT word, count, root, utc_ns, key, signature, agrees FROM heads WHERE series = ? "
        "ORDER BY count",
        (bench.series,),
    ):
        head = SignedHead(
            word=word, count=count, root=root, utc_ns=utc_ns, key=key, signature=signature
        )
        if not head.is_right:
            yield f"the {word} over {count} records: its signature is wrong"
        elif root_over(archive.database, bench.series, count, tree) != root:
            text = "was so when it came" if not agrees else "something was changed since"
            yield f"the {word} over {count} records is over other records: {text}"
