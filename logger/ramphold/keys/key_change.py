"""A key takes the place of another: renewed, signed by both, or given up as lost."""

from collections.abc import Iterable
from typing import Annotated, Literal

from msgspec import Meta, Struct, structs

from ramphold.keys.ed25519 import MaybeSignature, PublicKey, SigningKey, is_signed

#: Whose key it is.
KeyOwner = Literal["bench", "collector"]

#: More records than a bench can have.
NO_LIMIT = 2**53


class KeyChange(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A statement that one key takes the place of another.

    Attributes:
        whose: the bench's key, or the collector's.
        old, new: the public keys, in hex.
        by: the person who says so.
        reason: why.
        utc_ns: when, UTC in ns since 1970.
        by_old: signature of `statement` by the old key; empty where that is lost.
        by_new: by the new key; empty where another's key is only taken note of.
    """

    whose: KeyOwner
    old: PublicKey
    new: PublicKey
    by: Annotated[str, Meta(max_length=200)]
    reason: Annotated[str, Meta(max_length=1000)]
    utc_ns: Annotated[int, Meta(ge=0, le=2**63 - 1)]
    by_old: MaybeSignature = ""
    by_new: MaybeSignature = ""

    @property
    def statement(self) -> bytes:
        """The signed bytes: seven lines of text."""
        return (
            f"ramphold key 1\nwhose {self.whose}\nold {self.old}\nnew {self.new}\n"
            f"by {' '.join(self.by.split())}\nreason {' '.join(self.reason.split())}\n"
            f"utc_ns {self.utc_ns}\n"
        ).encode()

    @property
    def is_renewal(self) -> bool:
        """Whether both keys have signed it."""
        return self.old != self.new and all(
            is_signed(key, signature, self.statement)
            for key, signature in ((self.old, self.by_old), (self.new, self.by_new))
        )

    @property
    def is_loss(self) -> bool:
        """Whether the new key alone has signed it."""
        return (
            not self.by_old
            and self.old != self.new
            and is_signed(self.new, self.by_new, self.statement)
        )


def change_key(  # noqa: PLR0913 - what is stated
    whose: KeyOwner,
    old: SigningKey | str,
    new: SigningKey,
    *,
    by: str,
    reason: str,
    utc_ns: int,
) -> KeyChange:
    """State that a key takes the place of another, which is only a public one if it is lost."""
    public = old if isinstance(old, str) else old.public
    bare = KeyChange(whose=whose, old=public, new=new.public, by=by, reason=reason, utc_ns=utc_ns)
    by_old = "" if isinstance(old, str) else old.sign(bare.statement)
    return structs.replace(bare, by_old=by_old, by_new=new.sign(bare.statement))


def key_limits(
    known: str, changes: Iterable[tuple[int, KeyChange]], *, losses: bool = True
) -> dict[str, int]:
    """The keys of one owner, each with the number of the last record that it may sign.

    A renewal leads from the known key both ways, since each of its keys vouches for the other. A
    loss leads from the new key to the old one, and not back: whoever knows only the old key must
    ask a person.

    Args:
        known: a public key that is surely the owner's.
        changes: with the number of the record that each stands in; 0 for no record.
        losses: whether losses count.
    """
    right = [
        (number, change.old, change.new, change.is_loss)
        for number, change in changes
        if change.is_loss or change.is_renewal
    ]
    found = {known}
    while True:
        more = {old for _, old, new, is_loss in right if new in found and (losses or not is_loss)}
        more |= {new for _, old, new, is_loss in right if old in found and not is_loss}
        if more <= found:
            break
        found |= more
    ends = {old: number for number, old, _, _ in reversed(right)}
    return {key: ends.get(key, NO_LIMIT) or NO_LIMIT for key in found}
