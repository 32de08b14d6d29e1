"""`ramphold check`: is the configuration right, do the ports answer."""

import threading
from pathlib import Path

import pytest

from ramphold.sim.ports import SimulatedPorts

ROOT = Path(__file__).parent.parent.parent
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
    with SimulatedPorts(tmp_path) as bench:

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
    assert (load["raw"], load["value"], load["unit"]) == ("1234.5 lbf", 1234.5, "lbf")
    # Fifty lines a second, all alike, all marked as at rest but the first.
    assert 30 < load["rate_per_s"] < 60
    assert (load["noise"], load["quality"]) == (0.0, "good")
    assert load["steady_pct"] > 95
    assert load["age_s"] < 0.5
    assert load["calibration"] == "no certificate"
    # The cell at 15 000 psi is weaker than press and sensor.
    assert (told.json["rating_of"], round(told.json["rating_lbf"])) == ("cell", 47_124)


@pytest.mark.slow
@pytest.mark.usefixtures("talking")
def test_the_certificate_in_force_corrects_what_is_shown_and_the_raw_reading_stays(
    ramphold, bench_toml, tmp_path
):
    certificate = (ROOT / "hardware/calibration/example.toml").read_text()
    for old, new in (
        ('reading_unit = "count"', 'reading_unit = "lbf"'),
        ('"quadratic"', '"linear"'),
        ("[27.7000, 85.8710890, -2.055253e-06]", "[4.5, 1.2]"),
        ("zero = 120345 ", "zero = 0 "),
    ):
        certificate = certificate.replace(old, new)
    (tmp_path / "certificates").mkdir()
    (tmp_path / "certificates/a.toml").write_text(certificate)
    bench_toml.write_text(
        bench_toml.read_text() + f'calibration.folder = "{tmp_path}/certificates"'
    )
    told = ramphold("check", "--config", bench_toml)
    assert told.status == 0
    # (1234.5 - 4.5) / 1.2 = 1025
    for text in ("raw         1234.5 lbf", "value       1025.0 lbf, good", "EXAMPLE-2026-1, "):
        assert text in told.out
    load = ramphold("check", "--config", bench_toml, "--json").json["instruments"][0]
    assert (load["certificate"], load["zero"]) == ("EXAMPLE-2026-1", 0.0)
    assert load["days_left"] is not None


@pytest.mark.slow
def test_a_port_that_stays_silent_is_a_no_with_exit_status_1(ramphold, bench_toml, tmp_path):
    with SimulatedPorts(tmp_path):
        told = ramphold("check", "--config", bench_toml)
    assert told.status == 1
    assert "sends nothing" in told.out


@pytest.mark.slow
def test_a_port_that_does_not_exist_is_a_no_with_exit_status_1(ramphold, bench_toml, tmp_path):
    told = ramphold("check", "--config", bench_toml)
    assert (told.status, told.err) == (1, "")
    assert f"load     {tmp_path}/load  NO  " in told.out
    assert "no such port" in told.out


def test_an_unknown_key_is_refused_in_one_line(ramphold, bench_toml):
    bench_toml.write_text(bench_toml.read_text() + "colour = 'red'\n")
    ramphold("check", "--config", bench_toml).assert_refused("bench.toml", "colour: unknown key")


def test_the_daemon_refuses_a_broken_configuration_too(ramphold, bench_toml):
    bench_toml.write_text("bench = ")
    ramphold("daemon", "--config", bench_toml).assert_refused("bench.toml", "no valid TOML")


@pytest.mark.parametrize("option", ["--records", "--archive"])
def test_a_database_that_is_not_there_or_is_a_folder_is_told_as_such(ramphold, tmp_path, option):
    gone = tmp_path / "gone.db"
    ramphold("check", option, gone).assert_refused(f"{gone}: does not exist: expected a database")
    ramphold("check", option, tmp_path).assert_refused(f"{tmp_path}: is a folder: expected a")
    assert not gone.exists()
