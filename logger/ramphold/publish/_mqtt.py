"""The line to the broker: MQTT 5 through paho, in a thread of paho's own.

What happens on it is told in the event loop. A lost line is tried again for ever, after 1 s at
first and up to about a minute, a little otherwise at every bench so that they do not come at once.
"""

import asyncio
import random
import ssl
import sys
import threading
from collections.abc import Callable
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

from ramphold.errors import ConfigError
from ramphold.publish._broker_config import BrokerConfig
from ramphold.wire import CONTENT_TYPE

__all__ = ["Arrived", "Connection", "Down", "Heard", "Said", "Up"]

_QOS = 1
# Over the parts of the largest record; how much is on its way is bounded by the schedule.
_QUEUED = 5000
# Without a receipt a record is sent again; its older copies need not wait for anybody.
_KEPT_FOR_S = 900
# Messages that the broker may send before the first of them is acknowledged.
_UNDER_WAY = 200
_SLOWEST_S = 60
_LEAVE_LOOKS, _LEAVE_LOOK_S = 50, 0.02
_WEEK_S = 7 * 24 * 3600
# A topic, a content type and a header stand around a payload.
_AROUND_A_PAYLOAD = 400
#: From here on a reason code of MQTT 5 is a failure.
_FAILURES = 0x80


@dataclass(frozen=True, slots=True, kw_only=True)
class Up:
    """The broker took us in; `limit` is the most bytes of a message."""

    limit: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Down:
    """There is no line, and why."""

    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrived:
    """A message; `ack` tells the broker that it is dealt with."""

    topic: str
    payload: bytes
    ack: Callable[[], None] = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What the broker said to the message of a token: `refused` is its reason, or None."""

    token: int
    refused: str | None


Heard = Up | Down | Arrived | Said


class Connection:
    """One client of the broker. Nothing here waits for the network.

    Args:
        config: the broker.
        name: our client id; no two clients of a broker share one.
        topics: what we listen to.
        hear: takes what happens, in the event loop that made the connection.
        last_will: topic and payload that the broker keeps once we are gone without a word.
        by_hand: whether messages are acknowledged by whoever gets them.
        lasting: whether the broker keeps what comes while we are away.
    """

    def __init__(  # noqa: PLR0913 - what a client is
        self,
        config: BrokerConfig,
        *,
        name: str,
        topics: tuple[str, ...],
        hear: Callable[[Heard], None],
        last_will: tuple[str, bytes] | None = None,
        by_hand: bool = False,
        lasting: bool = True,
    ) -> None:
        self._config = config
        self._topics = topics
        self._hear = hear
        self._by_hand = by_hand
        self._lasting = lasting
        self._in = False
        self._loop = asyncio.get_running_loop()
        self._client = self._made(name, last_will)

    def start(self) -> None:
        """Begin to reach the broker.

        Raises:
            ConfigError: a file that the configuration names is not as it must be.
        """
        config = self._config
        if config.user:
            self._client.username_pw_set(config.user, config.password())
        if config.ca:
            try:
                self._client.tls_set(config.ca, config.certificate or None, config.key or None)
            except (OSError, ValueError) as error:
                files = ", ".join(filter(None, (config.ca, config.certificate, config.key)))
                raise ConfigError(f"{files}: expected PEM files for TLS: {error}") from None
        session = _properties(PacketTypes.CONNECT)
        session.ReceiveMaximum = _UNDER_WAY
        session.SessionExpiryInterval = _WEEK_S if self._lasting else 0
        self._client.connect_async(
            config.host,
            config.port,
            config.keepalive_s,
            clean_start=not self._lasting,
            properties=session,
        )
        self._client.loop_start()

    async def aclose(self) -> None:
        """Leave the broker, with what was already handed over sent; waits 1 s for it at most."""
        self._client.disconnect()
        # paho waits for its thread, which may sit in a name that does not resolve.
        leaving = threading.Thread(target=self._client.loop_stop, daemon=True)
        leaving.start()
        for _ in range(_LEAVE_LOOKS):
            if not leaving.is_alive():
                return
            await asyncio.sleep(_LEAVE_LOOK_S)

    def send(self, topic: str, payload: bytes, *, retain: bool = False) -> int | None:
        """Hand a message over; its token, or None where there is no room or no line for it."""
        about = _properties(PacketTypes.PUBLISH)
        about.ContentType = CONTENT_TYPE
        if not retain:
            about.MessageExpiryInterval = _KEPT_FOR_S
        sent = self._client.publish(topic, payload, _QOS, retain, about)
        return sent.mid if sent.rc == MQTT_ERR_SUCCESS else None

    # --- in paho's thread --------------------------------------------------------------------

    def _made(self, name: str, last_will: tuple[str, bytes] | None) -> Client:
        client = Client(
            CallbackAPIVersion.VERSION2, name, protocol=MQTTv5, manual_ack=self._by_hand
        )
        client.max_queued_messages_set(_QUEUED)
        slowest_s = round(_SLOWEST_S * random.uniform(0.75, 1.25))  # noqa: S311 - not a secret
        client.reconnect_delay_set(1, slowest_s)
        if last_will is not None:
            client.will_set(*last_will, qos=_QOS, retain=True)
        client.on_connect = self._on_connect
        client.on_connect_fail = self._on_connect_fail
        client.on_disconnect = self._on_disconnect
        client.on_message = self._on_message
        client.on_publish = self._on_publish
        return client

    def _tell(self, heard: Heard) -> None:
        if not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._hear, heard)

    def _on_connect(
        self,
        client: Client,
        _: object,
        __: ConnectFlags,
        code: ReasonCode,
        given: Any,  # noqa: ANN401
    ) -> None:
        if code.is_failure:
            self._tell(Down(reason=f"the broker says: {code}"))
            return
        self._in = True
        for topic in self._topics:
            client.subscribe(topic, _QOS)
        most = getattr(given, "MaximumPacketSize", self._config.max_packet)
        self._tell(Up(limit=min(most, self._config.max_packet) - _AROUND_A_PAYLOAD))

    def _on_connect_fail(self, _: Client, __: object) -> None:
        # paho calls this from where it caught what went wrong.
        self._tell(Down(reason=_why(sys.exception())))

    def _on_disconnect(
        self, _: Client, __: object, ___: DisconnectFlags, code: ReasonCode, ____: object
    ) -> None:
        # One that was never taken in has been told why.
        if self._in:
            self._in = False
            self._tell(Down(reason=f"the line broke: {code}"))

    def _on_message(self, client: Client, _: object, message: MQTTMessage) -> None:
        def ack() -> None:
            if self._by_hand:
                client.ack(message.mid, message.qos)

        self._tell(Arrived(topic=message.topic, payload=bytes(message.payload), ack=ack))

    def _on_publish(self, _: Client, __: object, token: int, code: ReasonCode, ___: object) -> None:
        refused = str(code) if code.value >= _FAILURES else None
        self._tell(Said(token=token, refused=refused))


def _properties(packet: int) -> Properties:
    return Properties(packet)  # type: ignore[no-untyped-call] # paho's own gap


def _why(error: BaseException | None) -> str:
    if isinstance(error, ssl.SSLCertVerificationError):
        return f"its certificate is not to be trusted: {error.verify_message}"
    if isinstance(error, ssl.SSLError):
        return f"no safe line to it: {error.reason or error}"
    if isinstance(error, OSError):
        return f"it can't be reached: {error.strerror or error}"
    return "it can't be reached"
