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


def test_the_certificate_alone_says_who_it_is(broker):
    broker.account("press-2")
    with Peer(broker.port, broker.account("press-1"), user="press-2", name="press-2") as peer:
        assert peer.publish(f"{OTHER}/record") == "Not authorized"
        assert peer.publish(f"{OWN}/record") in DONE


def test_nobody_throws_another_out_by_a_claimed_client_id(broker):
    with Peer(broker.port, broker.account("collector"), name="ramphold-collector") as collector:
        for claimed in ("ramphold-collector", "collector", ""):
            with Peer(broker.port, broker.account("press-1"), name=claimed) as bench:
                bench.publish(f"{OWN}/record")
        # It is still connected, and gets what it subscribes to now.
        collector.subscribe("ramphold/1/+/record")
        with Peer(broker.port, broker.account("press-1")) as bench:
            bench.publish(f"{OWN}/record", b"still there")
        assert collector.hear() == (f"{OWN}/record", b"still there")


@pytest.mark.parametrize(
    "topics",
    [
        [
            "#",
            "ramphold/#",
            "ramphold/1/+/record",
            f"{OTHER}/record",
            f"{OTHER}/receipt",
            "+/+/+/+",
        ],
        [f"$share/g{number}/ramphold/1/+/record" for number in range(30)],
        ["$share/ramphold/ramphold/1/+/record"],
    ],
)
def test_a_bench_gets_nothing_of_others_and_takes_nothing_from_a_collector(broker, topics):
    word = "$share/only-the-collectors-know/ramphold/1/+/record"
    account = broker.account
    with (
        Peer(broker.port, account("collector")) as collector,
        Peer(broker.port, account("press-2")) as thief,
        Peer(broker.port, account("press-1")) as bench,
    ):
        collector.subscribe(word)
        for topic in topics:
            thief.subscribe(topic)
        for number in range(60):
            bench.publish(f"{OWN}/record", b"%d" % number)
        heard = [collector.hear() for _ in range(60)]
        assert heard == [(f"{OWN}/record", b"%d" % number) for number in range(60)]
        assert thief.nothing_heard()


def test_a_revoked_certificate_is_refused_from_the_next_start_on(broker):
    own = broker.account("press-1")
    kept = [own.certificate.read_bytes(), own.key.read_bytes()]
    broker.revoke("press-1")
    for path, data in zip((own.certificate, own.key), kept, strict=True):
        path.write_bytes(data)
    broker.stop()
    broker.start()
    with pytest.raises(ssl.SSLError, match=r"(?i)revoked"):
        shake_hands(broker, own.ca, own.certificate, own.key)
    with Peer(broker.port, broker.account("press-2")) as other:
        assert other.publish(f"{OTHER}/record") in DONE


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
