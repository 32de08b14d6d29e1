"""The messages between a bench and the laboratory's server, without their envelope.

The name of a message's type contains its version. A new field needs a default, so that messages of
an older bench can still be read. A message with another meaning gets a new name.
"""

from typing import Annotated, Any, Literal

from msgspec import Meta, Struct

from ramphold.errors import WireError
from ramphold.keys.key_change import KeyChange
from ramphold.keys.signed_head import SignedHead
from ramphold.sample import Record, RunFinished
from ramphold.trust import TrustPart
from ramphold.wire._chain import decode_body, link
from ramphold.wire._packed_text import packed_digest
from ramphold.wire._person_signing import check_signature
from ramphold.wire._run_rows import RunRows

Count = Annotated[int, Meta(ge=0, le=2**53)]
Number = Annotated[int, Meta(ge=1, le=2**53)]
Sha256 = Annotated[str, Meta(pattern="^[0-9a-f]{64}$")]
#: A link, or nothing for the first record.
Before = Annotated[str, Meta(pattern="^([0-9a-f]{64})?$")]
Series = Annotated[str, Meta(pattern="^[0-9a-f]{32}$")]
#: The canonical JSON of a record, from which its hash is computed.
Body = Annotated[
    str,
    Meta(
        extra_json_schema={
            "contentMediaType": "application/json",
            "contentSchema": {"$ref": "#/$defs/Record"},
        }
    ),
]


class _Payload(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    pass


class RunMessage(_Payload, frozen=True, kw_only=True):
    """The rows of a run, and its readings as a packed trace."""

    rows: RunRows
    trace: bytes


class RecordMessage(_Payload, frozen=True, kw_only=True):
    """One record of a bench.

    Attributes:
        before: link of the record before it in the series; empty for the first.
        previous: link of the record before it in the chain of its sample; empty for the first.
        link: its own link.
        body: the record.
        run: the run itself, with the record of a run; else None.
    """

    before: Before
    previous: Before
    link: Sha256
    body: Body
    run: RunMessage | None = None

    def checked(self) -> Record:
        """Check every hash, and return the record.

        Raises:
            WireError: the body is no record, a hash does not match, or a person's signature is
                wrong.
        """
        record = decode_body(self.body)
        if link(self.previous, self.body.encode()) != self.link:
            raise WireError(f"record {record.record}: its link is not that of its text")
        check_signature(record, self.previous, self.body)
        if isinstance(record, RunFinished) != (self.run is not None):
            raise WireError(f"record {record.record}: a run's record comes with its run")
        if isinstance(record, RunFinished) and self.run is not None:
            if packed_digest(self.run.trace, record.readings) != record.packed_sha256:
                raise WireError(f"run {record.run}: its trace is not the one that was recorded")
            if self.run.rows.sha256() != record.record_sha256:
                raise WireError(f"run {record.run}: its rows are not those that were recorded")
        return record


class Part(_Payload, frozen=True, kw_only=True):
    """A piece of a message that is too large for one packet.

    Attributes:
        of: id of the whole message.
        part, parts: number of this piece, from 1, and number of pieces.
        sha256: of the bytes of the whole message.
        content: bytes of this piece.
    """

    of: Annotated[str, Meta(max_length=100)]
    part: Number
    parts: Annotated[int, Meta(ge=1, le=4096)]
    sha256: Sha256
    content: bytes


class StateMessage(_Payload, frozen=True, kw_only=True):
    """The state of a bench.

    Attributes:
        online: whether it is connected; the broker sends False for one that vanished.
        version: of its program.
        newest: number of its newest record.
        waiting, parked: numbers of records that wait for a receipt, and that were refused.
        run: state of the live run; None if there is none.
        stress_psi, target_psi, hold_s: of that run, as it is now; None where not known.
        trust: how far each part of the bench can be trusted.
        troubles: faults of its instruments, a sentence each.
        head: the newest that it has signed of its records, in the same series.
        receipt: the newest signed receipt that it keeps.
    """

    online: bool
    version: Annotated[str, Meta(max_length=50)] = ""
    newest: Count = 0
    waiting: Count = 0
    parked: Count = 0
    run: Annotated[str, Meta(max_length=50)] | None = None
    stress_psi: float | None = None
    target_psi: float | None = None
    hold_s: float | None = None
    trust: Annotated[tuple[TrustPart, ...], Meta(max_length=12)] = ()
    troubles: tuple[Annotated[str, Meta(max_length=500)], ...] = ()
    head: SignedHead | None = None
    receipt: SignedHead | None = None


class RefusedRecord(_Payload, frozen=True, kw_only=True):
    """A record that was not filed.

    `fork`: another record of that number, or with the same predecessor, was filed before, as after
    a database was restored from a copy. `invalid`: it cannot be read. `hash`: a hash is wrong.
    """

    record: Number
    code: Literal["fork", "invalid", "hash"]
    reason: Annotated[str, Meta(max_length=500)]


class Receipt(_Payload, frozen=True, kw_only=True):
    """The records of a series that the server has filed, refused, and not received.

    Attributes:
        series: the series.
        taken: numbers of the filed records.
        refused: the refused records.
        wanted: first and last number of each missing range.
        head: what the collector signs of the records that it has filed without a gap.
        key_changes: each time that the collector's key was renewed or lost, in order.
    """

    series: Series
    taken: tuple[Number, ...] = ()
    refused: tuple[RefusedRecord, ...] = ()
    wanted: tuple[tuple[Number, Number], ...] = ()
    head: SignedHead | None = None
    key_changes: Annotated[tuple[KeyChange, ...], Meta(max_length=50)] = ()


Message = RecordMessage | Part | StateMessage | Receipt

#: The messages by the names of their types.
MESSAGES: dict[str, type[Any]] = {
    "ramphold.record.v1": RecordMessage,
    "ramphold.part.v1": Part,
    "ramphold.state.v1": StateMessage,
    "ramphold.receipt.v1": Receipt,
}
