"""`ramphold replay` judges a recorded load, and refuses what is none."""

import pytest

from ramphold.testing.runs import GOOD_RUN, drawn

TARGET = ("--target", "4000psi")


def as_csv(readings):
    rows = [f"{r.t_ns / 1e9:g},{r.force_lbf:.3f}" for r in readings]
    return "\n".join(["t_s,force_lbf", *rows])


@pytest.fixture
def good(csv_file):
    return csv_file(as_csv(drawn(GOOD_RUN)))


def test_a_good_run_passes_with_exit_status_0(ramphold, good):
    told = ramphold("replay", good, *TARGET)
    assert told.status == 0
    assert "verdict: pass" in told.out


def test_the_json_has_the_figures_the_checks_and_the_events(ramphold, good):
    result = ramphold("replay", good, *TARGET, "--json").json
    assert (result["state"], result["verdict"]) == ("complete", "pass")
    assert result["peak_lbf"] == pytest.approx(12_566.37, abs=0.01)
    assert result["ramp_rate_psi_min"] == pytest.approx(2000, abs=0.1)
    assert result["longest_gap_s"] == pytest.approx(0.1)
    assert set(result["assessment"][0]) == {"name", "value", "unit", "limit", "pass"}
    states = [event for event in result["events"] if event["type"] == "StateChanged"]
    after = [event["after"] for event in states]
    assert after == ["seating", "ramp", "hold", "release", "complete"]


def test_a_run_that_misses_its_plan_fails_with_exit_status_1(ramphold, csv_file):
    early = [*GOOD_RUN[:3], (200.0, 4000.0), (201.0, 0.0), (203.0, 0.0)]
    told = ramphold("replay", csv_file(as_csv(drawn(early))), *TARGET, "--json")
    assert (told.status, told.json["state"], told.json["verdict"]) == (1, "stopped", "fail")


def test_rate_hold_and_bore_are_those_of_the_plan(ramphold, csv_file):
    corners = [(0, 0), (60, 4000), (91, 4000), (92, 0), (94, 0)]
    name = csv_file(as_csv(drawn(corners, bore_in=1.5)))
    plan = ("--bore", "38.1mm", "--rate", "4000", "--hold", "30")
    assert ramphold("replay", name, *TARGET, *plan).status == 0
    assert ramphold("replay", name, *TARGET, "--bore", "38.1mm").status == 1


def test_a_file_of_one_reading_a_second_has_no_gaps_of_its_own_making(ramphold, csv_file):
    readings = drawn((*GOOD_RUN, (248.0, 0.0)), per_s=1)
    result = ramphold("replay", csv_file(as_csv(readings)), *TARGET, "--json").json
    assert result["verdict"] == "pass"
    assert "ReadingsLost" not in {event["type"] for event in result["events"]}


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ("", "is empty"),
        ("t,f\n0,0\n", "expected t_s,force_lbf"),
        ("t_s,force_lbf\n0,0\n1,heavy\n", "row 3, force_lbf: 'heavy' is not a number"),
        ("t_s,force_lbf\n0,0\n1,nan\n", "row 3, force_lbf: 'nan' is not a finite number"),
        ("t_s,force_lbf\ninf,0\n", "row 2, t_s: 'inf' is not a finite number"),
        ("t_s,force_lbf\n0,0\n2,5\n1.5,9\n", "row 4, t_s: the time goes backwards"),
        (
            "t_s,force_lbf\n0,0\n1e308,0\n",
            "row 3, t_s: '1e308' is too high: expected 4e+09",
        ),
        ("t_s,force_lbf\n-1e10,0\n", "row 2, t_s: '-1e10' is too low: expected -4e+09 or more"),
        (bytes(range(256)), "NUL"),
    ],
)
def test_a_bad_file_is_refused_in_one_line_that_names_the_place(ramphold, csv_file, content, told):
    name = csv_file(content)
    ramphold("replay", name, *TARGET).assert_refused(name, told)


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--target", "4000"), "has no unit"),
        (("--target", "4000lbf"), "is a force: expected a stress"),
        (("--target", "16000psi"), "over the rating"),
        (("--target", "-4000psi"), "above zero"),
        (("--target", "nanpsi"), "is not a stress"),
        (("--target", "4000psi", "--bore", "2"), "has no unit"),
        (("--target", "4000psi", "--bore", "2psi"), "is a stress: expected a length"),
        (("--target", "4000psi", "--rate", "0"), "above zero"),
        (("--target", "4000psi", "--hold", "2in"), "is a length: expected a time"),
        ((), "--target"),
    ],
)
def test_a_bad_option_is_refused_in_one_line(ramphold, good, options, told):
    ramphold("replay", good, *options).assert_refused(told)


def test_a_missing_file_is_named(ramphold):
    ramphold("replay", "nowhere.csv", *TARGET).assert_refused("nowhere.csv", "does not exist")
