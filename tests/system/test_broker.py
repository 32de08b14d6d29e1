"""The sample configuration on the real broker: who may connect, and who may write what."""

import socket
import ssl

import pytest

from support.broker import Broker
from support.peer import Peer

OWN = "ramphold/1/press-1"
OTHER = "ramphold/1/press-2"
DONE = ("Success", "No matching subscribers")
REFUSED = ("Not authorized",)


@pytest.mark.parametrize(
    ("user", "topic", "answers"),
    [
        ("press-1", f"{OWN}/record", DONE),
        ("press-1", f"{OWN}/state", DONE),
        ("press-1", f"{OWN}/receipt", REFUSED),
        ("press-1", f"{OTHER}/record", REFUSED),
        ("press-1", f"{OTHER}/state", REFUSED),
        ("press-1", f"{OTHER}/receipt", REFUSED),
        ("press-1", "ramphold/2/press-1/record", REFUSED),
        ("press-1", "anything", REFUSED),
        ("collector", f"{OWN}/receipt", DONE),
        ("collector", f"{OWN}/record", REFUSED),
        ("collector", f"{OWN}/state", REFUSED),
    ],
)
def test_each_may_write_its_own_and_nothing_else(broker, user, topic, answers):
    with Peer(broker.port, broker.account(user)) as peer:
        assert peer.publish(topic) in answers


def test_a_bench_hears_its_own_receipts_and_nothing_else(broker):
    bench, collector = broker.account("press-1"), broker.account("collector")
    with Peer(broker.port, bench) as bench, Peer(broker.port, collector) as collector:
        bench.subscribe("#")
        bench.publish(f"{OWN}/record")
        collector.publish(f"{OTHER}/receipt")
        collector.publish(f"{OWN}/receipt", b"for me")
        assert bench.hear() == (f"{OWN}/receipt", b"for me")


@pytest.mark.parametrize("topic", ["ramphold/1/+/record", "$share/ramphold/ramphold/1/+/record"])
def test_a_collector_hears_the_records_of_every_bench(broker, topic):
    with Peer(broker.port, broker.account("collector")) as collector:
        collector.subscribe(topic)
        for name in ("press-1", "press-2"):
            with Peer(broker.port, broker.account(name)) as bench:
                assert bench.publish(f"ramphold/1/{name}/record", name.encode()) == "Success"
            assert collector.hear() == (f"ramphold/1/{name}/record", name.encode())


def test_a_wrong_password_is_refused(broker):
    peer = Peer(broker.port, broker.account("press-1"), guess="guessed")
    answer, _ = peer.connect()
    peer.close()
    assert answer == "Not authorized"


def test_nobody_comes_in_with_the_certificate_of_another_authority(broker, tmp_path):
    strange = Broker(tmp_path / "strange").account("press-1")
    own = broker.account("press-1")
    with pytest.raises(ssl.SSLError, match=r"(?i)unknown.ca"):
        shake_hands(broker, own.ca, strange.certificate, strange.key)


def test_nobody_comes_in_without_a_certificate(broker):
    with pytest.raises(ssl.SSLError, match=r"(?i)certificate.required"):
        shake_hands(broker, broker.account("press-1").ca)


def test_an_expired_certificate_is_refused(broker):
    own = broker.account("press-1")
    broker.expire("press-1")
    with pytest.raises(ssl.SSLError, match=r"(?i)expired"):
        shake_hands(broker, own.ca, own.certificate, own.key)


def test_a_server_that_is_called_otherwise_than_its_certificate_says_is_not_believed(broker):
    with pytest.raises(ssl.SSLCertVerificationError, match=r"'other\.example'"):
        shake_hands(broker, broker.account("press-1").ca, host="other.example")


def test_a_client_is_told_how_large_a_packet_may_be(broker):
    peer = Peer(broker.port, broker.account("press-1"))
    answer, told = peer.connect()
    peer.close()
    assert answer == "Success"
    assert told.MaximumPacketSize == 1 << 20


def test_what_the_broker_has_kept_survives_a_stop(broker):
    with Peer(broker.port, broker.account("press-1")) as bench:
        bench.publish(f"{OWN}/state", b"here", retain=True)
    broker.stop()
    broker.start()
    with Peer(broker.port, broker.account("collector")) as collector:
        collector.subscribe("ramphold/1/+/state")
        assert collector.hear() == (f"{OWN}/state", b"here")


def shake_hands(broker, authority, certificate=None, key=None, host="localhost"):
    """Connect and read: a TLS 1.3 server refuses only after the client's handshake."""
    context = ssl.create_default_context(cafile=authority)
    if certificate:
        context.load_cert_chain(certificate, key)
    with (
        socket.create_connection(("127.0.0.1", broker.port)) as plain,
        context.wrap_socket(plain, server_hostname=host) as secure,
    ):
        secure.settimeout(5)
        secure.recv(1)
