"""The daemon itself: what runs there, and what it tells."""

from ramphold.control.act import Method, NoParams, Params, Result, Topic
from ramphold.control.instrument_methods import InstrumentHealth
from ramphold.trust import TrustPart


class SubscribeParams(Params, frozen=True, kw_only=True):
    """Names of topics; they replace any subscribed to before."""

    topics: tuple[str, ...]


class Status(Result, frozen=True, kw_only=True):
    """What the bench is and what it is doing; `run` is the number of the live run.

    `simulated` is true where nothing on the bench is real; only then does its press take the method
    `pump`. `first_unit` is the unit that the press place shows first and largest, `psi` or `lbf`.
    `interrupted` has the numbers of the runs that a daemon left live when it died before this one.
    `taken_up` is the number of one that this daemon follows on.
    `trust` is how far each part of the bench can be trusted. `unusual` has the values of the
    configuration that are unlike any bench, each with the reason why it stands.
    """

    bench: str
    version: str
    t_ns: int
    utc_ns: int
    instruments: tuple[InstrumentHealth, ...]
    run: int | None
    simulated: bool = False
    first_unit: str = "psi"
    interrupted: tuple[int, ...] = ()
    trust: tuple[TrustPart, ...] = ()
    taken_up: int | None = None
    unusual: tuple[str, ...] = ()


class BenchTrust(Result, frozen=True, kw_only=True):
    """How far each part of the bench can be trusted."""

    parts: tuple[TrustPart, ...]


class Subscribed(Result, frozen=True, kw_only=True):
    """The topics that are told from now on."""

    topics: tuple[str, ...]


ON_TRUST = Topic(
    "trust", BenchTrust, replaceable=True, about="how far each part of the bench can be trusted"
)

STATUS = Method("status", NoParams, Status, "what the bench is, its instruments, the live run")
SUBSCRIBE = Method(
    "subscribe", SubscribeParams, Subscribed, "tell these topics on this connection from now on"
)

SERVER_METHODS = (STATUS, SUBSCRIBE)
