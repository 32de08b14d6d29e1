"""`ramphold commission`: on the simulated bench, and as a person is guided through it."""

import io
import sys
import threading

import msgspec
import pytest

from ramphold.core import TRIAL
from ramphold.sim.ports import SimulatedPorts

CONFIG = """
bench = "press-1"
press.rating = "50000lbf"
load = {{ kind = "indicator", port = "{folder}/load", capacity = "50000lbf", readings_per_s = 80 }}
store.path = "{folder}/runs.sqlite3"
control.socket = "{folder}/control.sock"
"""

pytestmark = pytest.mark.slow


@pytest.fixture
def bench_toml(tmp_path):
    path = tmp_path / "bench.toml"
    path.write_text(CONFIG.format(folder=tmp_path))
    return path


def test_a_simulated_press_is_tried_through_a_real_port_and_its_gain_found(ramphold):
    told = ramphold("commission", "--simulated", "--seed", 3, "--json")
    assert told.status == 0
    trial = told.json["trial"]
    disc, sand = trial["media"]
    assert [size["found"] for size in disc["sizes"] + sand["sizes"]] == [4, 4, 4, 6, 6] * 2
    assert trial["rate_per_s"] == pytest.approx(80, rel=1e-3)
    assert trial["findings"] == []
    assert told.json["simulated"] is True
    assert told.json["file"] is None
    # A bed that stiffens: each full stroke gains more than the one before. Steel gains more still.
    full = [stroke["gain_psi"] for stroke in sand["strokes"] if stroke["size"] == 1]
    assert full == sorted(full)
    assert disc["strokes"][2]["gain_psi"] > full[-1]
    # Steel relaxes hardly at all, sand by per cents (the pacing study: 1.4 % in 3 s at 4000 psi).
    assert disc["relaxations"][0]["lost_pct_3s"] < 0.2
    assert 0.5 < sand["relaxations"][3]["lost_pct_3s"] < 6
    # Part strokes of the simulated hand scatter by 12 %; one spike begins in a thousand readings.
    assert all(4 < size["scatter_pct"] < 25 for size in sand["sizes"][2:4])
    assert 0.2 < trial["spikes_per_1000"] < 2.5
    assert trial["start"]["gain_factor"] != 1.0


def test_the_same_seed_gives_the_same_trial(ramphold):
    first = ramphold("commission", "--simulated", "--json")
    again = ramphold("commission", "--simulated", "--json")
    assert first.out == again.out


def test_a_trial_is_told_in_words(ramphold):
    told = ramphold("commission", "--simulated")
    for text in (
        "steel disc",
        "sand bed",
        "slow pull:",
        "10 a second would do",
        "pacing     start",
        "delay      not measured: starts from 0.3 s",
        "coarse     below about ",
    ):
        assert text in told.out


class Keys(io.TextIOBase):
    """Presses Enter at every prompt."""

    def __init__(self):
        self.pressed = 0

    def readline(self, _size=-1):
        self.pressed += 1
        return "\n"


@pytest.fixture
def steady(tmp_path):
    """A load indicator that sends a steady load; a test may change it."""
    stop, load = threading.Event(), [800.0]
    with SimulatedPorts(tmp_path) as bench:

        def talk():
            while not stop.wait(0.0125):
                bench.send_load(load[0])

        thread = threading.Thread(target=talk)
        thread.start()
        yield load
        stop.set()
        thread.join()


@pytest.mark.usefixtures("steady")
def test_a_person_is_guided_step_by_step_and_the_result_is_kept(
    ramphold, bench_toml, tmp_path, monkeypatch
):
    monkeypatch.setattr(sys, "stdin", keys := Keys())
    told = ramphold("commission", "--config", bench_toml, "--by", "ab", "--json")
    assert told.status == 0
    # Each medium is put in and taken out, and every step is ended.
    assert keys.pressed == len(TRIAL) + 4
    for text in (
        "put the steel disc under the piston, without sand",
        "put a levelled cell of sand under the piston",
        "make 6 1/8 strokes, 5 s apart, the lever back up after each",
        "pull slowly and evenly for 20 s, as slowly as you can",
        "stop whatever is asked when the load nears 37699 lbf",  # 0.8 x 15 000 psi x pi in2
    ):
        assert text in told.err
    assert "steel disc: 0 strokes of 1 were seen, 4 asked for" in told.json["trial"]["findings"]
    kept = msgspec.json.decode((tmp_path / "press-trial.json").read_bytes())
    assert told.json["file"] == str(tmp_path / "press-trial.json")
    assert (kept["operator"], kept["trial"]) == ("ab", told.json["trial"])


def test_a_load_over_the_limit_ends_the_trial(ramphold, bench_toml, steady, monkeypatch):
    monkeypatch.setattr(sys, "stdin", Keys())
    steady[0] = 3500.0
    told = ramphold("commission", "--config", bench_toml, "--by", "ab", "--limit", "1000psi")
    assert told.status == 2
    assert "the load reached 1114 psi, over 1000: release it" in told.err


@pytest.mark.parametrize(
    ("options", "told"),
    [((), "expected --config FILE, or --simulated"), (("--config", "x"), "expected --by INITIALS")],
)
def test_what_is_missing_is_named(ramphold, options, told):
    ramphold("commission", *options).assert_refused(told)
