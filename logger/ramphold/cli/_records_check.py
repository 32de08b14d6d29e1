"""`ramphold check --records`: whether anything was changed outside the program."""

import time
from pathlib import Path

from msgspec import Struct, structs

from ramphold.cli._common import show
from ramphold.collector.archive import open_archive
from ramphold.collector.archive_audit import archive_findings, filed_findings
from ramphold.errors import InputError, KeyFileError, StoreError
from ramphold.keys.ed25519 import fingerprint, read_fingerprint
from ramphold.keys.key_folder import KeyFolder
from ramphold.keys.person_key import PersonKeys
from ramphold.sample import People
from ramphold.sqlite_advice import check_there
from ramphold.store import Audit, HeadAudit, Store

# A running daemon signs at most once a second.
_SIGNED_WITHIN_S = 2.0


class ChainEnd(Struct, frozen=True, kw_only=True):
    """The end of a chain; `laboratory_number` is None for the chain of the bench."""

    laboratory_number: str | None
    records: int
    newest: int
    sha256: str


class RecordedPerson(Struct, frozen=True, kw_only=True):
    """A person who signs at the bench, or has signed, as the records say.

    Attributes:
        initials, name, function: of the person.
        fingerprint: of the person's key.
        vouched_by: initials of the person who vouched for the key; empty if nobody did.
        signs: whether the person signs still.
    """

    initials: str
    name: str
    function: str
    fingerprint: str
    vouched_by: str
    signs: bool


class SignedState(Struct, frozen=True, kw_only=True):
    """What was signed of the records.

    Attributes:
        fingerprint: of the bench's key; empty if there is none.
        signed_by, witnessed_by: of the keys of the newest head and receipt; empty if there is none.
        heads, receipts: how many of each are right.
        signed, witnessed: how many records the newest of each covers.
        unsigned: what nothing vouches for, in words; empty if all is signed by the right key.
    """

    fingerprint: str
    signed_by: str
    witnessed_by: str
    heads: int
    receipts: int
    signed: int
    witnessed: int
    unsigned: str


class ArchiveResult(Struct, frozen=True, kw_only=True):
    """The JSON result for an archive."""

    records: int
    findings: list[str]


class RecordsResult(Struct, frozen=True, kw_only=True):
    """The JSON result of the command."""

    records: int
    runs: int
    chains: list[ChainEnd]
    people: list[RecordedPerson]
    signed: SignedState
    findings: list[str]


def check_records(
    path: Path,
    links: tuple[str, ...],
    wanted: str | None,
    archive: str | None = None,
    *,
    as_json: bool,
) -> int:
    """Audit a database, print the findings, and return the exit status.

    Args:
        path: the database.
        links: links that must be there.
        wanted: fingerprint of the bench's key; None for the key in the folder beside it.
        archive: the laboratory's archive to compare with, record by record; None for none.
        as_json: print JSON.

    Raises:
        InputError: the fingerprint is none, or is not that of the key.
        StoreError: the database cannot be read.
    """
    check_there(path)
    result = _checked(path, links, wanted)
    # What is changed stays so; only the newest records may still be waiting for their signature.
    if result.signed.unsigned and result.signed.fingerprint and not result.findings:
        time.sleep(_SIGNED_WITHIN_S)
        result = _checked(path, links, wanted)
    if archive is not None:
        result = structs.replace(
            result, findings=[*result.findings, *_filed(path, archive, result.signed.fingerprint)]
        )
    show(result, _text(path, result), as_json=as_json)
    return 1 if result.findings or result.signed.unsigned else 0


def _checked(path: Path, links: tuple[str, ...], wanted: str | None) -> RecordsResult:
    folder = KeyFolder.beside(path)
    with Store.read(path) as store, store.snapshot():
        key = _key(store, folder, wanted)
        kept = [head for head in (folder.newest("head"), folder.newest("receipt")) if head]
        heads = store.audit_heads(key=key, collector=folder.collector(), kept=kept)
        findings = list(heads.findings())
        audit = store.audit()
        findings += audit.findings()
    findings += _people_findings(folder, audit.people)
    findings += [
        f"link {link} is in no chain: the records behind the report were changed"
        for link in links
        if link not in audit.links
    ]
    return RecordsResult(
        records=audit.records,
        runs=audit.runs,
        chains=_chains(audit),
        people=_people(audit.people),
        signed=_signed(heads, key),
        findings=findings,
    )


def check_archive(url: str, *, as_json: bool) -> int:
    """Audit an archive, print the findings, and return the exit status.

    Raises:
        StoreError: the archive cannot be read.
    """
    with open_archive(url, read_only=True) as archive, archive.snapshot():
        findings = list(archive_findings(archive))
        count = sum(one.filed for one in archive.benches())
    end = "something was changed" if findings else "nothing was changed"
    lines = [f"{url}: {count} filed records checked", *(f"CHANGED  {one}" for one in findings), end]
    show(ArchiveResult(records=count, findings=findings), "\n".join(lines), as_json=as_json)
    return 1 if findings else 0


def is_archive(path: Path) -> bool:
    """Whether a file is an archive of a laboratory."""
    try:
        with open_archive(str(path), read_only=True):
            return True
    except StoreError:
        return False


def _filed(path: Path, url: str, digits: str) -> list[str]:
    with Store.read(path) as store, store.snapshot():
        links, series = store.links(), store.outbox.all_series()
    with open_archive(url, read_only=True) as archive, archive.snapshot():
        return list(filed_findings(archive, links, series, digits))


def _key(store: Store, folder: KeyFolder, wanted: str | None) -> str | None:
    """The bench's public key: that of a fingerprint, or the one in the folder."""
    own = folder.public()
    if wanted is None:
        return own
    digits = read_fingerprint(wanted)
    for key in filter(None, (own, *{head.key for head in store.heads.all("head")})):
        if fingerprint(key).startswith(digits):
            return key
    raise InputError(f"--fingerprint {wanted[:80]!r}: nothing here was signed by that key")


def _people_findings(folder: KeyFolder, people: People) -> list[str]:
    """How the records about people differ from the keys that lie beside the database."""
    try:
        held = PersonKeys(folder.path).all()
    except KeyFileError as error:
        return [str(error)]
    recorded = {(one.added.key, one.added.name, one.added.function) for one in people.all}
    return [
        f"the key of {one.name} ({one.initials}) lies beside the database, and no record says that "
        f"this person signs: `ramphold person add {one.initials}`, or the record was removed"
        for one in held
        if (one.key, one.name, one.function) not in recorded
    ]


def _chains(audit: Audit) -> list[ChainEnd]:
    return [
        ChainEnd(
            laboratory_number=None if number is None else audit.laboratory_number(number),
            records=chain.records,
            newest=chain.newest,
            sha256=chain.sha256,
        )
        for number, chain in sorted(audit.chains.items(), key=lambda item: item[0] or 0)
    ]


def _people(people: People) -> list[RecordedPerson]:
    return [
        RecordedPerson(
            initials=one.added.initials,
            name=one.added.name,
            function=one.added.function,
            fingerprint=fingerprint(one.added.key),
            vouched_by=one.vouched_by,
            signs=not one.until,
        )
        for one in people.all
    ]


def _signed(heads: HeadAudit, key: str | None) -> SignedState:
    return SignedState(
        fingerprint=fingerprint(key) if key else "",
        signed_by=fingerprint(heads.signed.key) if heads.signed else "",
        witnessed_by=fingerprint(heads.witnessed.key) if heads.witnessed else "",
        heads=heads.heads,
        receipts=heads.receipts,
        signed=heads.signed.count if heads.signed else 0,
        witnessed=heads.witnessed.count if heads.witnessed else 0,
        unsigned=heads.unsigned,
    )


def _text(path: Path, result: RecordsResult) -> str:
    signed = result.signed
    lines = [f"{path}: {result.records} records and {result.runs} runs checked"]
    lines += [
        f"{chain.laboratory_number or 'the bench':<14} {chain.records:>6} records, "
        f"the newest {chain.newest}, link {chain.sha256}"
        for chain in result.chains
    ]
    lines.append(
        f"signed         {signed.signed:>6} records, in {signed.heads} heads, the newest by the "
        f"key {signed.signed_by or '(none)'}"
    )
    lines += [
        f"person         {one.initials}, {one.name}, {one.function}: key {one.fingerprint}, "
        f"{one.vouched_by or 'nobody'} vouches{'' if one.signs else ', retired'}"
        for one in result.people
    ]
    after = result.records - signed.witnessed
    lines.append(
        f"witnessed      {signed.witnessed:>6} records, in {signed.receipts} receipts, the newest "
        f"by the collector's key {signed.witnessed_by or '(none)'}; {after} records after it"
    )
    lines += [f"CHANGED  {finding}" for finding in result.findings]
    if signed.unsigned:
        lines.append(f"UNSIGNED {signed.unsigned}")
    return "\n".join([*lines, _conclusion(result)])


def _conclusion(result: RecordsResult) -> str:
    if result.findings:
        return "something was changed"
    if result.signed.unsigned:
        return "no change is seen, but not all is signed"
    return "nothing was changed"
