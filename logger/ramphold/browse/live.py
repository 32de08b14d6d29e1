"""What the benches say of themselves now, from the broker; it only listens."""

from dataclasses import dataclass

from ramphold.clock import Clock
from ramphold.errors import ConfigError, WireError
from ramphold.publish.broker_config import BrokerConfig
from ramphold.publish.mqtt import (
    BrokerConnection,
    BrokerEvent,
    LineDown,
    LineUp,
    MessageArrived,
    SendResult,
)
from ramphold.wire import StateMessage, bench_of, unpack_envelope

_STATES = "ramphold/1/+/state"
# A state of a bench takes some kB. Whatever is larger is none.
_MOST_BYTES = 64 * 1024
_MOST_BENCHES = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchNow:
    """What a bench said last.

    Attributes:
        state: that.
        said_utc_ns: when it said so, by its own clock.
        heard_utc_ns: when that came here; the broker repeats the last words of each to a newcomer.
    """

    state: StateMessage
    said_utc_ns: int
    heard_utc_ns: int


class LiveBenches:
    """Listens to the state of every bench.

    Args:
        config: the broker; None where there is none.
        name: ours at the broker.
        clock: the time.

    Attributes:
        why_unknown: why nothing is known; empty while the line is up.
    """

    def __init__(self, config: BrokerConfig | None, name: str, clock: Clock) -> None:
        self.why_unknown = "no broker is named" if config is None else "connecting to the broker"
        self._config, self._name, self._clock = config, name, clock
        self._said: dict[str, BenchNow] = {}
        self._connection: BrokerConnection | None = None

    def start(self) -> None:
        """Begin to listen, in the event loop that runs."""
        if self._config is None or self._connection is not None:
            return
        connection = BrokerConnection(
            self._config,
            client_id=self._name,
            topics=(_STATES,),
            retained=(_STATES,),
            on_event=self._take,
            persistent=False,
        )
        try:
            connection.start()
        except ConfigError as error:
            self.why_unknown = str(error)
        else:
            self._connection = connection

    def of(self, series: str) -> BenchNow | None:
        """What the bench with this numbering said last; None where that is not known now."""
        return None if self.why_unknown else self._said.get(series)

    async def aclose(self) -> None:
        """Leave the broker."""
        if self._connection is not None:
            await self._connection.aclose()

    def _take(self, event: BrokerEvent) -> None:
        match event:
            case LineUp():
                self._said.clear()
                self.why_unknown = ""
            case LineDown(reason=reason):
                self.why_unknown = f"no line to the broker: {reason}"
            case MessageArrived():
                self._take_state(event)
            case SendResult():
                pass

    def _take_state(self, arrived: MessageArrived) -> None:
        if len(arrived.payload) > _MOST_BYTES:
            return
        try:
            bench = bench_of(arrived.topic, "state")
            envelope = unpack_envelope(arrived.payload)
        except WireError:
            return  # the collector keeps it in quarantine, and says so
        if envelope.bench != bench or not isinstance(envelope.message, StateMessage):
            return
        if envelope.series in self._said or len(self._said) < _MOST_BENCHES:
            self._said[envelope.series] = BenchNow(
                state=envelope.message,
                said_utc_ns=envelope.utc_ns,
                heard_utc_ns=self._clock.utc_ns(),
            )
