"""The daemon itself: what runs there, and what it tells."""

from ramphold.control.act import Method, NoParams, Params, Result, Topic
from ramphold.control.instrument_methods import InstrumentHealth
from ramphold.sample import BaseRecord, kind_name

__all__ = [
    "ON_RECORD",
    "SERVER_METHODS",
    "STATUS",
    "SUBSCRIBE",
    "RecordAdded",
    "Status",
    "SubscribeParams",
    "Subscribed",
]


class SubscribeParams(Params, frozen=True, kw_only=True):
    """Names of topics; they replace any subscribed to before."""

    topics: tuple[str, ...]


class Status(Result, frozen=True, kw_only=True):
    """What the bench is and what it is doing; `run` is the number of the live run.

    `simulated` is true where nothing on the bench is real; only then does its press take the method
    `pump`.
    """

    bench: str
    version: str
    t_ns: int
    utc_ns: int
    instruments: tuple[InstrumentHealth, ...]
    run: int | None
    simulated: bool = False


class Subscribed(Result, frozen=True, kw_only=True):
    """The topics that are told from now on."""

    topics: tuple[str, ...]


class RecordAdded(Result, frozen=True, kw_only=True):
    """A record was committed: its number, its kind, and the sample, specimen and run it is about.

    Whoever shows records asks for them again. `sample` is None for a record of the bench itself,
    or of a specimen without a sample.
    """

    record: int
    kind: str
    sample: int | None = None
    specimen: int | None = None
    run: int | None = None

    @classmethod
    def of(cls, record: BaseRecord) -> "RecordAdded":
        """What is told of a record."""
        return cls(
            record=record.record,
            kind=kind_name(type(record)),
            sample=record.sample,
            specimen=getattr(record, "specimen", None),
            run=getattr(record, "run", None),
        )


# Never replaced: a screen that shows one sample would miss its record for another's.
ON_RECORD = Topic("record", RecordAdded, replaceable=False, about="a record was added")

STATUS = Method("status", NoParams, Status, "what the bench is, its instruments, the live run")
SUBSCRIBE = Method(
    "subscribe", SubscribeParams, Subscribed, "tell these topics on this connection from now on"
)

SERVER_METHODS = (STATUS, SUBSCRIBE)
