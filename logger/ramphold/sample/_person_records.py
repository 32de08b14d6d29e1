"""The records of who signs at a bench; they are the bench's own."""

from ramphold.keys.ed25519 import PublicKey
from ramphold.sample._sample_records import SignedRecord


class PersonAdded(SignedRecord, frozen=True, kw_only=True, tag="person"):
    """A person signs at this bench from now on, with a key of their own.

    `signed` is the signature of the person who vouches for the key; that of the key itself where
    nobody here could vouch for it, as for the first person.

    Attributes:
        initials: as in the records that the person signs.
        name, function: in full, as a report prints them.
        key: public key, in hex.
    """

    initials: str
    name: str
    function: str
    key: PublicKey


class PersonRetired(SignedRecord, frozen=True, kw_only=True, tag="person retired"):
    """A person signs no more at this bench; what was signed stays signed.

    Attributes:
        initials: of the person.
        key: public key of the person, in hex.
    """

    initials: str
    key: PublicKey
