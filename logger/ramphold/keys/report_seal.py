"""The seal of an issued report: its record, the proof that a signed head covers it, and the head.

It is enough to tell, years later and without any other record, that a file is the one that was
recorded as issued, and when a bench's key had signed that.
"""

from hashlib import sha256

import msgspec
from msgspec import Struct

from ramphold.errors import InputError
from ramphold.keys import merkle
from ramphold.keys.signed_head import SignedHead
from ramphold.undecodable import UNDECODABLE


class ReportSeal(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What lies beside an issued report.

    Attributes:
        previous: link of the record before in the chain of the sample, which covers all before it.
        body: the record of the issue, as it is kept.
        record: its number.
        proof: hashes in hex that lead from it to the head's root (RFC 9162, 2.1.3).
        head: signed by the bench after the issue.
    """

    previous: str
    body: str
    record: int
    proof: tuple[str, ...]
    head: SignedHead

    def findings(self, file: bytes) -> list[str]:
        """What is wrong with a file, or with the seal itself; empty if nothing is."""
        found = []
        digest = sha256(file).hexdigest()
        if f'"sha256":"{digest}"' not in self.body or '"kind":"report"' not in self.body:
            found.append(f"the file is not the one that was issued: its SHA-256 is {digest}")
        link = sha256(self.previous.encode() + self.body.encode()).hexdigest()
        try:
            proof = [bytes.fromhex(one) for one in self.proof]
        except ValueError:
            proof = []
        leaf = merkle.leaf_hash(link.encode())
        root = merkle.root_by_inclusion(self.record - 1, self.head.count, leaf, proof)
        if root is None or root.hex() != self.head.root:
            found.append("the record of the issue is not among those that were signed")
        if self.head.word != "head" or not self.head.is_right:
            found.append("the signature is wrong")
        return found


def read_seal(text: bytes) -> ReportSeal:
    """Read a seal.

    Raises:
        InputError: it is none.
    """
    try:
        return msgspec.json.decode(text, type=ReportSeal)
    except UNDECODABLE as error:
        raise InputError(f"no seal of a report: {error}") from None
