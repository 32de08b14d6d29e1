"""The tests' bad network does what it says; otherwise the tests that use it would prove nothing."""

import contextlib
import gc
import socket
import threading

import pytest

from support.proxy import DOWN, UP, Proxy


@pytest.fixture
def echo():
    """A server that sends back what it is sent."""

    def answer(end):
        with end, contextlib.suppress(OSError):
            while data := end.recv(65536):
                end.sendall(data)

    def serve():
        with contextlib.suppress(OSError):
            while True:
                end, _ = listener.accept()
                threads.append(threading.Thread(target=answer, args=(end,)))
                threads[-1].start()

    with socket.create_server(("127.0.0.1", 0)) as listener:
        threads = [threading.Thread(target=serve)]
        threads[0].start()
        yield listener.getsockname()[1]
        listener.shutdown(socket.SHUT_RDWR)
    for thread in threads:
        thread.join()


@pytest.fixture
def proxy(echo):
    with Proxy(echo) as proxy:
        yield proxy


def connect(proxy):
    end = socket.create_connection(("127.0.0.1", proxy.port))
    end.settimeout(5)
    return end


def heard(end, count):
    got = b""
    with contextlib.suppress(ConnectionResetError):
        while len(got) < count and (data := end.recv(count - len(got))):
            got += data
    return got


def test_a_good_network_passes_all_bytes_both_ways(proxy):
    sent = bytes(range(256)) * 4000
    with connect(proxy) as end:
        writer = threading.Thread(target=end.sendall, args=(sent,))
        writer.start()
        assert heard(end, len(sent)) == sent
        writer.join()
    assert proxy.cuts <= 1


def test_what_a_client_sends_before_the_server_is_reached_gets_there(proxy):
    for _ in range(50):
        with connect(proxy) as end:
            end.sendall(b"at once")
            assert heard(end, 7) == b"at once"


def test_it_can_be_cut_while_the_server_is_being_reached(proxy):
    for _ in range(50):
        with connect(proxy) as end:
            proxy.away()
            assert heard(end, 1) == b""
        proxy.back()
    with connect(proxy) as end:
        end.sendall(b"x")
        assert heard(end, 1) == b"x"


@pytest.mark.parametrize("way", [UP, DOWN])
def test_it_cuts_after_as_many_bytes_as_it_was_told(proxy, way):
    proxy.cut_after(7, way)
    with connect(proxy) as end:
        end.sendall(b"0123456789")
        got = heard(end, 10)
        assert heard(end, 1) == b""
    assert got == b"0123456" if way == DOWN else got in (b"", b"0123456")
    with connect(proxy) as end:
        end.sendall(b"and the next one is whole")
        assert heard(end, 25) == b"and the next one is whole"


@pytest.mark.parametrize("way", [UP, DOWN])
def test_held_bytes_come_when_the_network_is_back(proxy, way):
    proxy.hold(way)
    with connect(proxy) as end:
        end.sendall(b"held")
        end.settimeout(0.1)
        with pytest.raises(TimeoutError):
            end.recv(1)
        end.settimeout(5)
        proxy.back()
        assert heard(end, 4) == b"held"


def test_nobody_gets_through_while_it_is_away(proxy):
    with connect(proxy) as end:
        end.sendall(b"x")
        assert heard(end, 1) == b"x"
        proxy.away()
        assert heard(end, 1) == b""
    with connect(proxy) as end:
        assert heard(end, 1) == b""
    proxy.back()
    with connect(proxy) as end:
        end.sendall(b"x")
        assert heard(end, 1) == b"x"


@pytest.mark.filterwarnings("error::ResourceWarning")
def test_its_end_leaves_no_socket_open_also_of_clients_just_being_taken(echo, monkeypatch):
    left_open = []
    monkeypatch.setattr("sys.unraisablehook", lambda told: left_open.append(told.exc_value))
    for clients in range(1, 21):
        proxy = Proxy(echo)
        with contextlib.ExitStack() as ends:
            for _ in range(clients % 4 + 1):
                ends.enter_context(connect(proxy))
            proxy.close()
    del proxy
    gc.collect()
    assert left_open == []
