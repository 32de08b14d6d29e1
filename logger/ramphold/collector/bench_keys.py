"""Which keys are those of the laboratory's benches, by the word of a person."""

from msgspec import Struct

from ramphold.collector.archive import Archive
from ramphold.errors import InputError
from ramphold.keys.ed25519 import read_fingerprint

_DIGITS = 64


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
        archive.database.write(
            "INSERT INTO bench_keys (bench, fingerprint, accepted_by, utc_ns) VALUES (?, ?, ?, ?) "
            "ON CONFLICT (bench, fingerprint) DO NOTHING",
            (bench, whole, by, utc_ns),
        )
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
