"""Gives the bench another key: prepared, recorded, signed, and only then in its place.

A power cut at any moment leaves the old key or the new one, never none: what was prepared is put
in place at the next start if it was recorded, and removed if not. Every function works in the
store's thread.
"""

from ramphold.control.key_methods import RenewKeyParams
from ramphold.errors import CommandRefused, KeyFileError
from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.key_change import NO_LIMIT, change_key, key_limits
from ramphold.keys.key_folder import KeyFolder
from ramphold.keys.signed_head import SignedHead
from ramphold.sample import KeyChanged
from ramphold.store import Store


def renew(
    store: Store, folder: KeyFolder, key: SigningKey | None, params: RenewKeyParams, utc_ns: int
) -> tuple[SigningKey, KeyChanged, SignedHead | None]:
    """Give the bench another key; returns it, its record, and the head that covers that record.

    The head is signed by the old key, or by the new one if that is lost.

    Args:
        store: where it is recorded.
        folder: where the keys are.
        key: the old key; None if it cannot be used.
        params: who says so, why, and whether the old one is lost.
        utc_ns: now.

    Raises:
        CommandRefused: the old key is there and said to be lost, or the other way round.
        KeyFileError: the folder cannot be written; what was begun is settled at the next start.
        StoreError: it cannot be recorded.
    """
    old = _lost(store, folder) if params.lost else key
    if old is None:
        raise CommandRefused(
            "the old key can't be used: mend that, or move it away and say that it is lost"
        )
    new = SigningKey.generate()
    change = change_key("bench", old, new, by=params.operator, reason=params.reason, utc_ns=utc_ns)
    folder.prepare(new, utc_ns)
    recorded = store.records.append(KeyChanged.of(change))
    head = store.heads.sign(new if isinstance(old, str) else old, utc_ns)
    folder.settle((new.public,))
    return new, recorded, head


def settle_key(store: Store, folder: KeyFolder) -> None:
    """Finish or undo a renewal that a power cut interrupted.

    Raises:
        KeyFileError: the folder cannot be written.
        StoreError: the database cannot be read.
    """
    folder.settle({one.new for _, one in store.key_changes("bench")})


def check_own(store: Store, folder: KeyFolder, key: SigningKey, heads: list[SignedHead]) -> None:
    """Check that a key is the bench's own, and was not replaced.

    Raises:
        KeyFileError: it is another bench's, or an old one.
        StoreError: the database cannot be read.
    """
    limits = key_limits(key.public, store.key_changes("bench"))
    if limits[key.public] != NO_LIMIT:
        raise KeyFileError(
            f"{folder.path}/own.key was replaced by record {limits[key.public]}: put the newer key "
            "back, or move this one away and give the newer up (`ramphold key renew --lost`)"
        )
    if any(head.word == "head" and head.key not in limits for head in heads):
        raise KeyFileError(
            f"{folder.path}: another bench's key: put back the key that signed these records; "
            "nothing is signed until then"
        )


def _lost(store: Store, folder: KeyFolder) -> str:
    """The public key of a private one that is gone."""
    if folder.has_private:
        raise CommandRefused(
            f"{folder.path}/own.key is there: leave out --lost; one that must not be used is moved "
            "away first"
        )
    heads = [head for head in (folder.newest("head"), store.heads.newest()) if head is not None]
    if not heads:
        raise CommandRefused("nothing was signed yet: the daemon makes a key at its next start")
    if (wrong := store.heads.contradiction(heads)) is not None:
        raise CommandRefused(f"{wrong}: see `ramphold check --records` first")
    return max(heads, key=lambda head: head.count).key
