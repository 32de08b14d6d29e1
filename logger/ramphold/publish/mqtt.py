"""The line to the broker: MQTT 5 through paho, in a thread of paho's own.

What happens on it is told in the event loop. A lost line is tried again for ever, after 1 s at
first and up to about a minute, a little otherwise at every bench so that they do not come at once.
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

__all__ = ["Arrived", "Connection", "Down", "Heard", "Said", "Up"]

_QOS = 1
# Over the parts of the largest record; how much is on its way is bounded by the schedule.
_QUEUED = 5000
# Without a receipt a record is sent again; its older copies need not wait for anybody.
_KEPT_FOR_S = 900
# Messages that the broker may send before the first of them is acknowledged.
_UNDER_WAY = 600
_SLOWEST_S = 60
_LEAVE_LOOKS, _LEAVE_LOOK_S = 50, 0.02
_WEEK_S = 7 * 24 * 3600
# A topic, a content type and a header stand around a payload.
_AROUND_A_PAYLOAD = 400
#: From here on a reason code of MQTT 5 is a failure.
_FAILURES = 0x80
#: "No matching subscribers".
_UNHEARD = 0x10


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
    """What the broker said to the message of a token.

    Attributes:
        token: which one.
        refused: why it does not take it; None where it does.
        unheard: whether it took it and has nobody to give it to, now or later.
    """

    token: int
    refused: str | None
    unheard: bool = False


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
        self._untold: deque[Heard] = deque()
        self._calling = False
        self._in, self._refused, self._limit = False, "", 0
        self._tls: ssl.SSLContext | None = None
        self._loop = asyncio.get_running_loop()
        self._client = self._made(name, last_will)

    def start(self) -> None:
        """Begin to reach the broker.

        Raises:
            ConfigError: a file that the configuration names is not as it must be.
        """
        config = self._config
        if config.ca:
            with self._readable(config.ca):
                self._tls = ssl.create_default_context(cafile=config.ca)
            self._client.tls_set_context(self._tls)
        self._identify()
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
        client.on_subscribe = self._on_subscribe
        client.on_connect_fail = self._on_connect_fail
        client.on_disconnect = self._on_disconnect
        client.on_message = self._on_message
        client.on_publish = self._on_publish
        return client

    def _identify(self) -> None:
        """Say who we are from now on: what was renewed needs no new start of the program.

        Raises:
            ConfigError: a file that the configuration names is not as it must be.
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
        self._tell(Down(reason=reason))

    @staticmethod
    @contextlib.contextmanager
    def _readable(*files: str) -> Iterator[None]:
        try:
            yield
        except (OSError, ValueError) as error:
            names = ", ".join(filter(None, files))
            raise ConfigError(f"{names}: expected PEM files for TLS: {error}") from None

    def _tell(self, heard: Heard) -> None:
        # One call for all that comes before the loop gets to it: to wake it costs a system call.
        self._untold.append(heard)
        if not self._calling and not self._loop.is_closed():
            self._calling = True
            self._loop.call_soon_threadsafe(self._tell_on)

    def _tell_on(self) -> None:
        # First, so that what is added from now on calls again.
        self._calling = False
        while self._untold:
            self._hear(self._untold.popleft())

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
        self._in = True
        most = getattr(given, "MaximumPacketSize", self._config.max_packet)
        self._limit = min(most, self._config.max_packet) - _AROUND_A_PAYLOAD
        client.subscribe([(topic, SubscribeOptions(qos=_QOS)) for topic in self._topics])

    def _on_subscribe(self, *_: object) -> None:
        # Not before: what is answered sooner would not be heard.
        self._tell(Up(limit=self._limit))

    def _on_connect_fail(self, _: Client, __: object) -> None:
        # paho calls this from where it caught what went wrong.
        self._down(_why(sys.exception()))

    def _on_disconnect(
        self, _: Client, __: object, ___: DisconnectFlags, code: ReasonCode, ____: object
    ) -> None:
        if self._in:
            reason = f"the line broke: {code}"
        else:
            # In TLS 1.3 a server looks at our certificate only after we have taken its own.
            reason = self._refused or "it broke off before it took us in: is our certificate good?"
        self._in, self._refused = False, ""
        self._down(reason)

    def _on_message(self, client: Client, _: object, message: MQTTMessage) -> None:
        def ack() -> None:
            if self._by_hand:
                client.ack(message.mid, message.qos)

        self._tell(Arrived(topic=message.topic, payload=bytes(message.payload), ack=ack))

    def _on_publish(self, _: Client, __: object, token: int, code: ReasonCode, ___: object) -> None:
        refused = str(code) if code.value >= _FAILURES else None
        self._tell(Said(token=token, refused=refused, unheard=code.value == _UNHEARD))


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
