"""What a bench and the laboratory's server say to each other, apart from the envelope around it.

A message's version is in its type's name. A field that is added needs a default, so that what an
older bench wrote is still read; a message that means something else gets a new name.
"""

from typing import Annotated, Any, Literal

from msgspec import Meta, Struct

from ramphold.errors import WireError
from ramphold.sample import Record, RunFinished
from ramphold.wire._chain import decode_body, link
from ramphold.wire._packed_text import packed_digest
from ramphold.wire._run_rows import RunRows

__all__ = [
    "MESSAGES",
    "Message",
    "Part",
    "Receipt",
    "RecordMessage",
    "RefusedRecord",
    "RunMessage",
    "StateMessage",
]

Count = Annotated[int, Meta(ge=0, le=2**53)]
Number = Annotated[int, Meta(ge=1, le=2**53)]
Sha256 = Annotated[str, Meta(pattern="^[0-9a-f]{64}$")]
#: A hash, or nothing where there is nothing before.
Before = Annotated[str, Meta(pattern="^([0-9a-f]{64})?$")]
Series = Annotated[str, Meta(pattern="^[0-9a-f]{32}$")]
#: A record as canonical JSON, to the byte: its hash is taken of it.
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
    """A run's rows, and its readings as a packed trace."""

    rows: RunRows
    trace: bytes


class RecordMessage(_Payload, frozen=True, kw_only=True):
    """One record of a bench.

    Attributes:
        before: link of the record before it in the bench's one numbering; empty for the first.
        previous: link of the record before it in the chain of its sample; empty for the first.
        link: its own.
        body: the record.
        run: what stands beside the record of a run; None beside any other.
    """

    before: Before
    previous: Before
    link: Sha256
    body: Body
    run: RunMessage | None = None

    def checked(self) -> Record:
        """The record, once every hash was found to be right.

        Raises:
            WireError: the body is no record of ours, or a hash is not that of what came.
        """
        record = decode_body(self.body)
        if link(self.previous, self.body.encode()) != self.link:
            raise WireError(f"record {record.record}: its link is not that of its text")
        if isinstance(record, RunFinished) != (self.run is not None):
            raise WireError(f"record {record.record}: a run's record comes with its run")
        if isinstance(record, RunFinished) and self.run is not None:
            if packed_digest(self.run.trace) != (record.readings, record.packed_sha256):
                raise WireError(f"run {record.run}: its trace is not the one that was recorded")
            if self.run.rows.sha256() != record.record_sha256:
                raise WireError(f"run {record.run}: its rows are not those that were recorded")
        return record


class Part(_Payload, frozen=True, kw_only=True):
    """A piece of a message that is too large for one packet.

    Attributes:
        of: id of the whole.
        part, parts: which of how many, from 1.
        sha256: of the bytes of the whole.
        content: bytes of this piece.
    """

    of: Annotated[str, Meta(max_length=100)]
    part: Number
    parts: Annotated[int, Meta(ge=1, le=4096)]
    sha256: Sha256
    content: bytes


class StateMessage(_Payload, frozen=True, kw_only=True):
    """How a bench is.

    Attributes:
        online: whether it is there; the broker says False for one that left without a word.
        version: of its program.
        newest: number of its newest record.
        waiting, parked: records that wait for a receipt; records that were refused.
        run: state of the live run; None where there is none.
        troubles: what is wrong with its instruments, a sentence each.
    """

    online: bool
    version: Annotated[str, Meta(max_length=50)] = ""
    newest: Count = 0
    waiting: Count = 0
    parked: Count = 0
    run: Annotated[str, Meta(max_length=50)] | None = None
    troubles: tuple[Annotated[str, Meta(max_length=500)], ...] = ()


class RefusedRecord(_Payload, frozen=True, kw_only=True):
    """A record that was not filed.

    `fork`: another record of that number, or of its neighbour's line, was filed before, as when
    a database was restored from a copy. `invalid`: it can't be read. `hash`: a hash is wrong.
    """

    record: Number
    code: Literal["fork", "invalid", "hash"]
    reason: Annotated[str, Meta(max_length=500)]


class Receipt(_Payload, frozen=True, kw_only=True):
    """What the server has filed of a series, what it refuses, and what it misses.

    Attributes:
        series: which one.
        taken: numbers of the records that are filed for good.
        refused: those that are not.
        wanted: first and last number of what is missing.
    """

    series: Series
    taken: tuple[Number, ...] = ()
    refused: tuple[RefusedRecord, ...] = ()
    wanted: tuple[tuple[Number, Number], ...] = ()


Message = RecordMessage | Part | StateMessage | Receipt

#: Every message by the name of its type.
MESSAGES: dict[str, type[Any]] = {
    "ramphold.record.v1": RecordMessage,
    "ramphold.part.v1": Part,
    "ramphold.state.v1": StateMessage,
    "ramphold.receipt.v1": Receipt,
}
