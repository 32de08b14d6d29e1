"""Which keys are those of the laboratory's benches, by the word of a person."""

from msgspec import Struct

from ramphold.collector._archive_database import Database
from ramphold.collector.archive import Archive
from ramphold.errors import InputError
from ramphold.keys.ed25519 import fingerprint, read_fingerprint
from ramphold.keys.key_change import KeyChange, key_limits
from ramphold.keys.signed_head import SignedHead
from ramphold.sample import KeyChanged
from ramphold.wire import decode_body

_DIGITS = 64
_MOST_CHANGES = 20


class KeyAccepted(Struct, frozen=True, kw_only=True):
    """A bench's key was accepted.

    Attributes:
        bench, fingerprint: whose key, and which.
        by: who compared the fingerprint with the one that the bench itself shows.
        records: how many records it vouches for so far.
    """

    bench: str
    fingerprint: str
    by: str
    records: int


def accept_key(archive: Archive, bench: str, typed: str, by: str, utc_ns: int) -> KeyAccepted:
    """Accept a bench's key; its records are vouched for from then on, also those filed before.

    Raises:
        InputError: the fingerprint is none, or is cut short and not that of a key that signed.
        StoreError: the archive cannot be used.
    """
    digits = read_fingerprint(typed)
    with archive.transaction():
        keys = archive.database.rows(
            "SELECT DISTINCT h.fingerprint FROM heads h JOIN benches b ON b.series = h.series "
            "WHERE b.bench = ? AND h.word = 'head'",
            (bench,),
        )
        seen = [one for (one,) in keys if one.startswith(digits)]
        whole = seen[0] if len(seen) == 1 else digits
        if len(whole) != _DIGITS:
            signed = ", ".join(one[:16] for (one,) in keys) or "none yet"
            raise InputError(
                f"fingerprint {typed}: no key that signed for {bench} begins so (there is "
                f"{signed}): expected that of `ramphold check` at the bench, or all 64 digits"
            )
        archive.database.write(_ACCEPT, (bench, whole, by, utc_ns))
        archive.database.write(_VOUCH, (bench, whole))
        ((records,),) = archive.database.rows(
            "SELECT coalesce(max(vouched), 0) FROM benches WHERE bench = ? AND fingerprint = ?",
            (bench, whole),
        )
    return KeyAccepted(bench=bench, fingerprint=whole, by=by, records=records)


_VOUCH = """UPDATE benches SET vouched = coalesce((SELECT max(h.count) FROM heads h
    WHERE h.series = benches.series AND h.word = 'head' AND h.agrees = 1
    AND h.fingerprint = benches.fingerprint), 0)
    WHERE bench = ? AND fingerprint = ?"""


def is_accepted(database: Database, bench: str, series: str, head: SignedHead) -> bool | None:
    """Whether a head's key is one that a person has accepted, or that such a key has signed for.

    None means that it says nothing: a filed record had replaced the key before. A key that was
    renewed passes its acceptance on, a lost one does not.
    """
    limits = key_limits(head.key, _renewals(database, series), losses=False)
    if head.count > limits[head.key]:
        return None
    accepted = {one for (one,) in database.rows(_ACCEPTED, (bench,))}
    whose = fingerprint(head.key)
    if whose in accepted:
        return True
    before = [one for one in map(fingerprint, limits) if one in accepted]
    if before:
        by = f"key {before[0][:16]}, which has signed for it"
        database.write(_ACCEPT, (bench, whose, by, head.utc_ns))
    return bool(before)


def _renewals(database: Database, series: str) -> list[tuple[int, KeyChange]]:
    """The newest changes of a bench's key; no bench makes the collector check thousands."""
    found = []
    rows = database.rows(
        "SELECT body FROM events WHERE series = ? AND kind = 'key change' "
        "ORDER BY record DESC LIMIT ?",
        (series, _MOST_CHANGES),
    )
    for (body,) in reversed(rows):
        record = decode_body(body)
        if isinstance(record, KeyChanged) and record.whose == "bench":
            found.append((record.record, record.change))
    return found


_ACCEPT = (
    "INSERT INTO bench_keys (bench, fingerprint, accepted_by, utc_ns) VALUES (?, ?, ?, ?) "
    "ON CONFLICT (bench, fingerprint) DO NOTHING"
)
_ACCEPTED = "SELECT fingerprint FROM bench_keys WHERE bench = ?"
