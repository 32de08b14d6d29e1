"""The line to the broker: MQTT 5 through paho, which runs in its own thread.

Its events are handled in the event loop. A lost line is retried for ever: after 1 s at first, later
after up to about a minute, which differs a little from bench to bench so that they do not all come
at once.
"""

import asyncio
import contextlib
import random
import ssl
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from paho.mqtt.client import (
    MQTT_ERR_SUCCESS,
    Client,
    ConnectFlags,
    DisconnectFlags,
    MQTTMessage,
    MQTTv5,
)
from paho.mqtt.enums import CallbackAPIVersion
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode
from paho.mqtt.subscribeoptions import SubscribeOptions

from ramphold.errors import ConfigError
from ramphold.publish.broker_config import BrokerConfig
from ramphold.wire import CONTENT_TYPE

_QOS = 1
# More than the parts of the largest record; the schedule bounds how much is in flight.
_QUEUED = 5000
# A record without a receipt is sent again, so an older copy need not wait at the broker.
_EXPIRY_S = 900
# Messages that the broker may send before we acknowledge the first of them.
_RECEIVE_MAX = 600
_SLOWEST_S = 60
_LEAVE_LOOKS, _LEAVE_LOOK_S = 50, 0.02
_WEEK_S = 7 * 24 * 3600
# Room for topic, content type and header.
_AROUND_A_PAYLOAD = 400
# Reason codes of MQTT 5 from here on are failures.
_FAILURE = 0x80
# "No matching subscribers".
_NO_SUBSCRIBERS = 0x10


@dataclass(frozen=True, slots=True, kw_only=True)
class LineUp:
    """The broker accepted us; `limit` is the greatest size of a message in bytes."""

    limit: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LineDown:
    """There is no line, with the reason."""

    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MessageArrived:
    """A message; `ack` acknowledges it to the broker."""

    topic: str
    payload: bytes
    ack: Callable[[], None] = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class SendResult:
    """The broker's answer to a message that was sent.

    Attributes:
        token: of the message.
        refused: why the broker refuses it; None if it accepts it.
        unheard: whether it accepts it but nobody subscribes to its topic.
    """

    token: int
    refused: str | None
    unheard: bool = False


BrokerEvent = LineUp | LineDown | MessageArrived | SendResult


class BrokerConnection:
    """A client of the broker. Nothing here waits for the network.

    Args:
        config: the broker.
        client_id: our id; no two clients of a broker share one.
        topics: our subscriptions.
        retained: those of them whose retained message is wanted.
        on_event: called with each event, in the event loop that made the connection.
        last_will: topic and payload that the broker publishes if we vanish.
        manual_ack: whether the receiver of a message acknowledges it.
        persistent: whether the broker keeps messages for us while we are away.
    """

    def __init__(  # noqa: PLR0913 - the parameters of an MQTT client
        self,
        config: BrokerConfig,
        *,
        client_id: str,
        topics: tuple[str, ...],
        retained: tuple[str, ...] = (),
        on_event: Callable[[BrokerEvent], None],
        last_will: tuple[str, bytes] | None = None,
        manual_ack: bool = False,
        persistent: bool = True,
    ) -> None:
        self._config = config
        self._topics, self._retained = topics, retained
        self._on_event = on_event
        self._manual_ack = manual_ack
        self._persistent = persistent
        self._events: deque[BrokerEvent] = deque()
        self._call_pending = False
        self._connected, self._refused, self._limit = False, "", 0
        self._tls: ssl.SSLContext | None = None
        self._loop = asyncio.get_running_loop()
        self._client = self._new_client(client_id, last_will)

    def start(self) -> None:
        """Start connecting.

        Raises:
            ConfigError: a file that the configuration names cannot be used.
        """
        config = self._config
        if config.ca:
            with self._readable(config.ca):
                self._tls = ssl.create_default_context(cafile=config.ca)
            self._client.tls_set_context(self._tls)
        self._identify()
        session = _properties(PacketTypes.CONNECT)
        session.ReceiveMaximum = _RECEIVE_MAX
        session.SessionExpiryInterval = _WEEK_S if self._persistent else 0
        self._client.connect_async(
            config.host,
            config.port,
            config.keepalive_s,
            clean_start=not self._persistent,
            properties=session,
        )
        self._client.loop_start()

    async def aclose(self) -> None:
        """Send what was already handed over and leave the broker; takes 1 s at most."""
        self._client.disconnect()
        # paho waits for its thread, which may be stuck resolving a name.
        leaving = threading.Thread(target=self._client.loop_stop, daemon=True)
        leaving.start()
        for _ in range(_LEAVE_LOOKS):
            if not leaving.is_alive():
                return
            await asyncio.sleep(_LEAVE_LOOK_S)

    def send(self, topic: str, payload: bytes, *, retain: bool = False) -> int | None:
        """Hand a message over; its token, or None without room or line for it."""
        about = _properties(PacketTypes.PUBLISH)
        about.ContentType = CONTENT_TYPE
        if not retain:
            about.MessageExpiryInterval = _EXPIRY_S
        sent = self._client.publish(topic, payload, _QOS, retain, about)
        return sent.mid if sent.rc == MQTT_ERR_SUCCESS else None

    # --- inside: `_on_...` runs in paho's thread -----------------------------------------------

    def _new_client(self, client_id: str, last_will: tuple[str, bytes] | None) -> Client:
        client = Client(
            CallbackAPIVersion.VERSION2, client_id, protocol=MQTTv5, manual_ack=self._manual_ack
        )
        client.max_queued_messages_set(_QUEUED)
        slowest_s = round(_SLOWEST_S * random.uniform(0.75, 1.25))  # noqa: S311 - not a secret
        client.reconnect_delay_set(1, slowest_s)
        if last_will is not None:
            client.will_set(*last_will, qos=_QOS, retain=True)
        client.on_connect = self._on_connect
        client.on_subscribe = self._on_subscribe
        client.on_connect_fail = self._on_connect_fail
        client.on_disconnect = self._on_disconnect
        client.on_message = self._on_message
        client.on_publish = self._on_publish
        return client

    def _identify(self) -> None:
        """Read our credentials again, so that renewed ones need no restart.

        Raises:
            ConfigError: a file that the configuration names cannot be used.
        """
        config = self._config
        if config.user:
            self._client.username_pw_set(config.user, config.password())
        if self._tls is not None and config.certificate:
            with self._readable(config.certificate, config.key):
                self._tls.load_cert_chain(config.certificate, config.key or None)

    def _down(self, reason: str) -> None:
        try:
            self._identify()
        except ConfigError as error:
            reason = f"{reason}; {error}"
        self._emit(LineDown(reason=reason))

    @staticmethod
    @contextlib.contextmanager
    def _readable(*files: str) -> Iterator[None]:
        try:
            yield
        except (OSError, ValueError) as error:
            names = ", ".join(filter(None, files))
            raise ConfigError(f"{names}: expected PEM files for TLS: {error}") from None

    def _emit(self, event: BrokerEvent) -> None:
        # Waking the loop costs a system call: one for all events until the loop handles them.
        self._events.append(event)
        if not self._call_pending and not self._loop.is_closed():
            self._call_pending = True
            self._loop.call_soon_threadsafe(self._handle_events)

    def _handle_events(self) -> None:
        # Reset first, so that an event added from now on wakes the loop again.
        self._call_pending = False
        while self._events:
            self._on_event(self._events.popleft())

    def _on_connect(
        self,
        client: Client,
        _: object,
        __: ConnectFlags,
        code: ReasonCode,
        given: Any,  # noqa: ANN401
    ) -> None:
        if code.is_failure:
            self._refused = f"the broker says: {code}"
            return
        self._connected = True
        most = getattr(given, "MaximumPacketSize", self._config.max_packet)
        self._limit = min(most, self._config.max_packet) - _AROUND_A_PAYLOAD
        client.subscribe([(topic, self._options(topic)) for topic in self._topics])

    def _options(self, topic: str) -> SubscribeOptions:
        return SubscribeOptions(
            qos=_QOS,
            retainHandling=SubscribeOptions.RETAIN_SEND_ON_SUBSCRIBE
            if topic in self._retained
            else SubscribeOptions.RETAIN_DO_NOT_SEND,
        )

    def _on_subscribe(self, *_: object) -> None:
        # Not earlier: an answer before the subscription would be missed.
        self._emit(LineUp(limit=self._limit))

    def _on_connect_fail(self, _: Client, __: object) -> None:
        # paho calls this inside its exception handler.
        self._down(_why(sys.exception()))

    def _on_disconnect(
        self, _: Client, __: object, ___: DisconnectFlags, code: ReasonCode, ____: object
    ) -> None:
        if self._connected:
            reason = f"the line broke: {code}"
        else:
            # In TLS 1.3 a server checks our certificate only after we have accepted its own.
            reason = self._refused or "it hung up during the handshake: is our certificate good?"
        self._connected, self._refused = False, ""
        self._down(reason)

    def _on_message(self, client: Client, _: object, message: MQTTMessage) -> None:
        def ack() -> None:
            if self._manual_ack:
                client.ack(message.mid, message.qos)

        self._emit(MessageArrived(topic=message.topic, payload=bytes(message.payload), ack=ack))

    def _on_publish(self, _: Client, __: object, token: int, code: ReasonCode, ___: object) -> None:
        refused = str(code) if code.value >= _FAILURE else None
        unheard = code.value == _NO_SUBSCRIBERS
        self._emit(SendResult(token=token, refused=refused, unheard=unheard))


def _properties(packet: int) -> Properties:
    return Properties(packet)  # type: ignore[no-untyped-call] # paho does not annotate it


def _why(error: BaseException | None) -> str:
    if isinstance(error, ssl.SSLCertVerificationError):
        return f"its certificate is not trusted: {error.verify_message}"
    if isinstance(error, ssl.SSLError):
        return f"no secure line to it: {error.reason or error}"
    if isinstance(error, OSError):
        return f"it can't be reached: {error.strerror or error}"
    return "it can't be reached"
