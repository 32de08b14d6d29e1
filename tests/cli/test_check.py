"""`ramphold check`: is the configuration right, do the ports answer."""

import threading

import pytest

from ramphold.sim.bench import Bench

CONFIG = """
bench = "press-1"
press.rating = "50000lbf"
load = {{ kind = "indicator", port = "{folder}/load", capacity = "50000lbf" }}
store.path = "{folder}/runs.sqlite3"
control.socket = "{folder}/control.sock"
"""


@pytest.fixture
def bench_toml(tmp_path):
    path = tmp_path / "bench.toml"
    path.write_text(CONFIG.format(folder=tmp_path))
    return path


@pytest.fixture
def talking(tmp_path):
    """A load indicator that goes on sending while a test looks."""
    stop = threading.Event()
    with Bench(tmp_path) as bench:

        def talk():
            while not stop.wait(0.02):
                bench.send_load(1234.5)

        thread = threading.Thread(target=talk)
        thread.start()
        yield
        stop.set()
        thread.join()


@pytest.mark.slow
@pytest.mark.usefixtures("talking")
def test_a_bench_whose_load_indicator_speaks_is_right(ramphold, bench_toml):
    told = ramphold("check", "--config", bench_toml, "--json")
    assert told.status == 0
    (load,) = told.json["instruments"]
    assert (load["name"], load["ok"]) == ("load", True)
    assert load["text"].startswith("1234.5 lbf")
    # The cell at 15 000 psi is weaker than press and sensor.
    assert (told.json["rating_of"], round(told.json["rating_lbf"])) == ("cell", 47_124)


@pytest.mark.slow
def test_a_port_that_stays_silent_is_a_no_with_exit_status_1(ramphold, bench_toml, tmp_path):
    with Bench(tmp_path):
        told = ramphold("check", "--config", bench_toml)
    assert told.status == 1
    assert "sends nothing" in told.out


def test_a_port_that_does_not_exist_is_refused_in_one_line(ramphold, bench_toml, tmp_path):
    told = ramphold("check", "--config", bench_toml)
    told.assert_refused(f"{tmp_path}/load", "no such port")


def test_an_unknown_key_is_refused_in_one_line(ramphold, bench_toml):
    bench_toml.write_text(bench_toml.read_text() + "colour = 'red'\n")
    ramphold("check", "--config", bench_toml).assert_refused("bench.toml", "colour: unknown key")


def test_the_daemon_refuses_a_broken_configuration_too(ramphold, bench_toml):
    bench_toml.write_text("bench = ")
    ramphold("daemon", "--config", bench_toml).assert_refused("bench.toml", "no valid TOML")
