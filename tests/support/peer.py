"""A client of the broker for tests: the messages and answers that it gets."""

import queue

from paho.mqtt.client import CallbackAPIVersion, Client, MQTTv5
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties

__all__ = ["Peer"]

PATIENCE_S = 10


class Peer:
    """A connection that waits for each answer; `with` ends it."""

    def __init__(self, port, account=None, *, name=None, user=None):
        self._told = queue.SimpleQueue()
        self._heard = queue.SimpleQueue()
        self._client = Client(
            CallbackAPIVersion.VERSION2,
            client_id=name or "",
            protocol=MQTTv5,
            reconnect_on_failure=False,
        )
        if account:
            self._client.tls_set(account.ca, account.certificate, account.key)
            if user:
                self._client.username_pw_set(user, "a pass word")
        self._client.on_connect = lambda *told: self._told.put((str(told[3]), told[4]))
        self._client.on_publish = lambda *told: self._told.put(str(told[3]))
        self._client.on_subscribe = lambda *told: self._told.put([str(one) for one in told[3]])
        self._client.on_message = lambda *told: self._heard.put((told[2].topic, told[2].payload))
        self._port = port

    def __enter__(self):
        self.connect()
        return self

    def __exit__(self, *_):
        self.close()

    def connect(self):
        """Connect; what the broker said to it, and its properties."""
        lasting = Properties(PacketTypes.CONNECT)
        lasting.SessionExpiryInterval = 3600
        self._client.connect("localhost", self._port, clean_start=False, properties=lasting)
        self._client.loop_start()
        return self._told.get(timeout=PATIENCE_S)

    def publish(self, topic, payload=b"x", *, retain=False):
        """Publish; what the broker's PUBACK says."""
        self._client.publish(topic, payload, qos=1, retain=retain)
        return self._told.get(timeout=PATIENCE_S)

    def subscribe(self, topic):
        self._client.subscribe(topic, qos=1)
        return self._told.get(timeout=PATIENCE_S)

    def hear(self):
        """The next message: topic and payload."""
        return self._heard.get(timeout=PATIENCE_S)

    def nothing_heard(self):
        """Whether no message has come."""
        return self._heard.empty()

    def close(self):
        self._client.disconnect()
        self._client.loop_stop()
        # Its callbacks and this object hold each other: freed by the collector, its inner sockets
        # might be found before it and be told as left open.
        self._client = None
