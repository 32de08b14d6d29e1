"""`ramphold record`: what comes is kept as a transcript that decodes to what stands in it."""

import datetime as dt
import threading

import pytest

from ramphold.clock import SystemClock
from ramphold.sim.ports import SimulatedPorts
from ramphold.wire import load_decoder, load_profile

CONFIG = """
bench = "press-1"
press.rating = "50000lbf"
load = {{ kind = "indicator", port = "{folder}/load", capacity = "50000lbf" }}
balance = {{ port = "{folder}/balance", profile = "reply-state" }}
store.path = "{folder}/runs.sqlite3"
control.socket = "{folder}/control.sock"
"""

pytestmark = pytest.mark.slow


@pytest.fixture
def bench_toml(tmp_path):
    path = tmp_path / "bench.toml"
    path.write_text(CONFIG.format(folder=tmp_path))
    return path


@pytest.fixture
def talking(tmp_path):
    """A load indicator that sends a line every 0.02 s, some of it rubbish, and a balance."""
    stop = threading.Event()
    with SimulatedPorts(tmp_path) as bench:

        def talk():
            number = 0
            while not stop.wait(0.02):
                bench.send_load(number / 10)
                bench.serve()
                if number % 10 == 0:
                    bench.send_bytes("load", b"\xfe\\x\r\n")
                number += 1

        thread = threading.Thread(target=talk)
        thread.start()
        yield
        stop.set()
        thread.join()


def parts(text):
    """Header, bytes that came, and frames of a transcript; read as firmware-notes tells it."""
    header, came, frames = {}, b"", []
    for line in text.splitlines():
        mark, _, rest = line.partition(" ")
        if mark == "#":
            key, _, value = rest.partition(": ")
            header[key] = value
        elif mark == "<":
            came += rest.encode("ascii").decode("unicode_escape").encode("latin-1")
        elif mark == "=":
            frames.append(rest)
    return header, came, frames


@pytest.mark.usefixtures("talking")
def test_the_load_is_recorded_with_its_frames_and_a_header_without_a_maker(
    ramphold, bench_toml, tmp_path
):
    output = tmp_path / "load.txt"
    told = ramphold("record", "--config", bench_toml, "--seconds", "1.5", "--output", output)
    assert told.status == 0
    header, came, frames = parts(output.read_text())
    keys = ["wire shape", "profile", "rate", "date", "origin"]
    assert list(header) == ["What the load sent", *keys]
    assert header["profile"] == "state-comma"
    assert header["rate"].startswith("9600 8N1, ")
    assert header["origin"] == "recorded"
    today = dt.datetime.fromtimestamp(SystemClock().utc_ns() / 1e9, dt.UTC).date()
    assert header["date"] == today.isoformat()
    decoded = load_decoder(load_profile("state-comma")).feed(came)
    assert len(frames) == len(decoded) > 30
    assert [frame for frame in frames if frame != "garbled"] == [
        f"{one.quality} {one.printed:.1f} lbf" for one in decoded if one.numbered
    ]
    assert "garbled" in frames


@pytest.mark.usefixtures("talking")
def test_what_was_sent_to_a_balance_stands_beside_what_came(ramphold, bench_toml):
    told = ramphold("record", "--config", bench_toml, "--instrument", "balance", "--seconds", "1.2")
    assert told.status == 0
    assert "> SI\\r\\n\n< S S      0.000 g\\r\\n\n= stable 0.000 g (0 g)\n" in told.out


def test_an_instrument_that_says_nothing_is_a_no(ramphold, bench_toml, tmp_path):
    with SimulatedPorts(tmp_path):
        told = ramphold("record", "--config", bench_toml, "--seconds", "0.3")
    assert (told.status, told.out) == (1, "")
    assert told.err == "load: nothing came in 0.3 s\n"


@pytest.mark.usefixtures("talking")
def test_a_file_that_is_there_is_not_written_over(ramphold, bench_toml):
    told = ramphold("record", "--config", bench_toml, "--seconds", "0.3", "--output", bench_toml)
    told.assert_refused("bench.toml can't be written: File exists")
