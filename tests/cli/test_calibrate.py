"""`ramphold calibrate`: from a file to the certified digits, and walked through at a bench."""

import datetime as dt
import io
import sys
import threading
from pathlib import Path

import pytest
from scipy import stats

from ramphold.sim.ports import SimulatedPorts
from ramphold.wire import read_certificate

ROOT = Path(__file__).parent.parent.parent
# NIST StRD "Pontius", as tests/data has it: published with its certified values.
PONTIUS = ROOT / "tests/data/pontius.csv"
FACTS = ("--id", "C-7", "--serial", "7", "--laboratory", "we", "--reference", "weights")


def test_a_calibration_from_a_file_agrees_with_the_certified_values_of_nist(ramphold):
    told = ramphold(
        "calibrate", "--points", PONTIUS, "--reading-unit", "deflection",
        "--reference-pct", 0, "--resolution", 0.00001, "--json",
    )  # fmt: skip
    assert told.status == 0
    found = told.json
    # Certified, NIST StRD Pontius.dat.
    assert found["coefficients"] == pytest.approx(
        [0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14], rel=1e-14
    )
    assert found["coefficient_sd"] == pytest.approx(
        [0.107938612033077e-03, 0.157817399981659e-09, 0.486652849992036e-16], rel=1e-13
    )
    assert found["residual_sd"] == pytest.approx(0.205177424076185e-03, rel=1e-13)
    assert found["r_squared"] == pytest.approx(0.999999900178537, abs=1e-15)
    assert found["f_ratio"] == pytest.approx(185330865.995752, rel=1e-12)
    # e-Handbook 4.6.1, from memory: the line is rejected, the quadratic taken.
    line, quadratic = found["line_lack_of_fit"], found["quadratic_lack_of_fit"]
    assert line["f_ratio"] == pytest.approx(214.747, abs=0.001)
    assert quadratic["f_ratio"] == pytest.approx(0.8107, abs=0.0001)
    assert quadratic["p_value"] == pytest.approx(1 - 0.3338, abs=0.0001)
    assert found["model"] == "quadratic"


def test_the_uncertainty_of_that_calibration_is_that_of_a_single_reading(ramphold):
    told = ramphold(
        "calibrate", "--points", PONTIUS, "--reference-pct", 0, "--resolution", 0, "--json"
    )
    # e-Handbook 4.6.1, from memory: at 1 705 106 lb the interval is 1 704 513 to 1 705 698 lb,
    # which is half its width either side; t(0.975, 37) by scipy.
    near = min(told.json["forces"], key=lambda force: abs(force["applied_lbf"] - 1_705_106))
    assert near["expanded_lbf"] == pytest.approx((1_705_698 - 1_704_513) / 2, rel=0.005)
    assert near["k"] == pytest.approx(stats.t.ppf(0.975, 37), rel=1e-9)


def test_a_calibration_is_shown_in_words(ramphold):
    told = ramphold("calibrate", "--points", PONTIUS, "--reference-pct", 0, "--resolution", 1e-5)
    assert "quadratic: reading = c0 + c1 force + ..., force in lbf" in told.out
    assert "c0 +6.735657895e-04  standard deviation 1.079e-04" in told.out
    assert "note: 2 runs: expected 3 or more" in told.out
    assert "from memory: check against the standard held" in told.out


def test_a_certificate_is_written_with_the_points_and_the_day_it_falls_due(ramphold, tmp_path):
    output = tmp_path / "C-7.toml"
    told = ramphold(
        "calibrate", "--points", PONTIUS, "--reference-pct", 0.1, "--resolution", 1e-5,
        "--reading-unit", "count", *FACTS, "--date", "2026-11-25", "--valid-days", 100,
        "--output", output,
    )  # fmt: skip
    assert told.status == 0
    assert told.out.endswith(f"certificate C-7 in {output}\n")
    held = read_certificate(output.read_text(), "C-7.toml")
    assert (held.date, held.due) == (dt.date(2026, 11, 25), dt.date(2027, 3, 5))
    assert (held.by, held.reference, held.serial) == ("we", "weights", "7")
    assert len(held.points) == 40
    assert held.curve().force_lbf(1.239722) == pytest.approx(1_705_106, abs=1)


def test_a_calibration_in_kilonewton_gives_the_same_force(ramphold, csv_file, tmp_path):
    rows = ["run,force,reading"]
    for run in (1, 2, 3):
        rows += [f"{run},0,5"]
        rows += [
            f"{run},{force},{5 + 100 * force + (run - 2)}" for force in (20, 50, 100, 150, 200)
        ]
        rows += [f"{run},0,6"]
    output = tmp_path / "C-7.toml"
    told = ramphold(
        "calibrate", "--points", csv_file("\n".join(rows)), "--unit", "kN", "--resolution", 1,
        "--reading-unit", "count", "--reference-pct", 0.1, *FACTS, "--output", output, "--json",
    )  # fmt: skip
    assert told.json["coefficients"] == pytest.approx([0, 100], abs=1e-9)
    assert told.json["zero_return"] == 1
    held = read_certificate(output.read_text(), "C-7.toml")
    assert held.zero == 5
    # 100 kN = 22 480.89 lbf: recomputed from the exact pound and standard gravity.
    assert held.curve().force_lbf(10_000) == pytest.approx(22_480.89, abs=0.01)
    assert held.points[0].force == pytest.approx(20, rel=1e-12)


@pytest.mark.parametrize(
    ("content", "options", "told"),
    [
        ("run,force\n1,2", (), "row 1: the header is 'run,force', expected run,force,reading"),
        ("run,force,reading\n1,x,2", (), "row 2, force: 'x' is not a number"),
        ("run,force,reading\n1,-5,2", (), "row 2, force: '-5' is too low"),
        ("run,force,reading\n1,0,2", (), "row 2, force: this run has no force above 0"),
        ("run,force,reading\n1,5,2", (), "1 runs: expected 2 or more, of 4 forces or more"),
        ("run,force,reading\n1,5,2", ("--id", "C-1"), "1 runs: expected 2 or more"),
    ],
)
def test_a_file_that_fixes_no_curve_is_refused_in_one_line(
    ramphold, csv_file, content, options, told
):
    ramphold(
        "calibrate",
        "--points",
        csv_file(content),
        "--reference-pct",
        0,
        "--resolution",
        1,
        *options,
    ).assert_refused(told)


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ((), "calibrate: expected --config FILE, or --points FILE"),
        (("--points", PONTIUS), "the step of these readings is unknown: expected --resolution"),
        (("--points", PONTIUS, "--resolution", 0, "--id", "C-1"), "a certificate needs --serial"),
        (
            ("--points", PONTIUS, "--resolution", 0, *FACTS),
            "expected --output FILE, or --config FILE",
        ),
    ],
)
def test_what_is_missing_is_named(ramphold, options, told):
    ramphold("calibrate", "--reference-pct", 0, *options).assert_refused(told)


CONFIG = """
bench = "press-1"
press.rating = "50000lbf"
load = {{ kind = "indicator", port = "{folder}/load", capacity = "50000lbf" }}
calibration.folder = "{folder}/certificates"
store.path = "{folder}/runs.sqlite3"
control.socket = "{folder}/control.sock"
"""


class Hand(io.TextIOBase):
    """Does what each prompt says: loads the gauge, then presses Enter."""

    def __init__(self, forces_lbf):
        self.force_lbf = 0.0
        self._left = list(forces_lbf)

    def readline(self, _size=-1):
        self.force_lbf, answer = self._left.pop(0)
        return f"{answer}\n"


@pytest.mark.slow
def test_a_person_is_walked_through_the_forces_and_the_certificate_corrects_from_then_on(
    ramphold, tmp_path, monkeypatch
):
    bench_toml = tmp_path / "bench.toml"
    bench_toml.write_text(CONFIG.format(folder=tmp_path))
    # A gauge that reads 2 % too much, and 3 lbf without a load.
    steps = [(10_000, ""), (20_000, "20010lbf"), (30_000, ""), (40_000, "40000")]
    forces = [(0, ""), *steps, (0, "")] * 2
    hand = Hand((20_010 if answer == "20010lbf" else force, answer) for force, answer in forces)
    monkeypatch.setattr(sys, "stdin", hand)
    stop = threading.Event()
    with SimulatedPorts(tmp_path) as bench:

        def talk():
            while not stop.wait(0.02):
                bench.send_load(3.0 + 1.02 * hand.force_lbf)

        thread = threading.Thread(target=talk)
        thread.start()
        try:
            told = ramphold(
                "calibrate", "--config", bench_toml, "--reference-pct", 0.1, "--runs", 2,
                "--seconds", 0.5, *FACTS,
                *(part for force in (10_000, 20_000, 30_000, 40_000)
                  for part in ("--force", f"{force}lbf")),
            )  # fmt: skip
            hand.force_lbf = 25_000.0
            checked = ramphold("check", "--config", bench_toml, "--json")
        finally:
            stop.set()
            thread.join()
    assert told.status == 0
    assert "apply 20000lbf and hold it" in told.err
    assert "reads 3 without a load" in told.err
    held = read_certificate((tmp_path / "certificates/C-7.toml").read_text(), "C-7.toml")
    assert (held.reading_unit, held.resolution, held.zero) == ("lbf", 0.1, pytest.approx(3.0))
    assert held.coefficients == pytest.approx((0, 1.02), abs=0.01)
    (load,) = checked.json["instruments"]
    assert load["value"] == pytest.approx(25_000, abs=0.3)
    assert load["raw"] == "25503.0 lbf"
    assert load["calibration"].startswith("C-7, in force until")
