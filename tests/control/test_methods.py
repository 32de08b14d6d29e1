"""The one table: what it holds is complete, documented, and strict about what comes in."""

import json
import math
import re

import msgspec
import pytest

from ramphold.control import run_methods
from ramphold.control.act import ON_RECORD, Act, RunNeed
from ramphold.control.methods import METHODS, TOPICS
from ramphold.core import ReadingsLost
from ramphold.errors import CommandRefused, InputError

GOOD = {
    "add_specimen": {"label": "P-117 a", "target_psi": 4000, "operator": "KL"},
    "start_run": {"specimen": 1, "operator": "KL"},
    "acknowledge": {"operator": "KL"},
    "choose_style": {"style": "strokes"},
    "end_run": {"reason": "bed broke", "operator": "KL"},
    "add_sample": {"laboratory_number": "26-0417", "client_reference": "pit 3", "size": "20/40",
                   "operator": "KL"},
    "sample": {"sample": "26-0417"},
    "next_stress": {"sample": 1},
    "correct_sample": {"sample": 1, "field": "size", "value": "30/50", "reason": "misread",
                       "operator": "KL"},
    "plan_stress": {"sample": 1, "stress_psi": 4000, "replicates": 3, "operator": "KL"},
    "weigh": {"test": "sieve analysis", "item": "20", "load": "tare", "sample": 1,
              "operator": "KL"},
    "correct_mass": {"corrects": 7, "mass_g": 1.5, "reason": "misread", "operator": "KL"},
    "choose_sieve": {"sample": 1, "use": "cut", "serial": "A", "operator": "KL"},
    "choose_instrument": {"sample": 1, "test": "turbidity", "instrument": "T-1", "operator": "KL"},
    "choose_cylinder": {"sample": 1, "cylinder": "C1", "operator": "KL"},
    "calibrate_cylinder": {"cylinder": "C1", "temp_c": 21.5, "operator": "KL"},
    "tick": {"specimen": 1, "what": "bed level", "operator": "KL"},
    "start_shaking": {"operator": "KL", "specimen": 1},
    "enter_value": {"sample": 1, "what": "roundness", "counts": [[0.7, 12]], "operator": "KL"},
    "decide_exclusion": {"specimen": 1, "excluded": True, "reason": "spilled", "operator": "KL"},
    "decide_run": {"run": 1, "counts": False, "reason": "late", "operator": "KL"},
    "answer_control": {"sample": 1, "finding": "sieve replaced", "operator": "KL"},
    "review_sample": {"sample": 1, "operator": "MM"},
    "issue_report": {"sample": 1, "operator": "KL"},
    "make_daily_check": {"rule": "load zero", "measured": -3.5, "expected": 0, "base": 50000,
                         "operator": "KL"},
    "check_equipment": {"equipment": "cell", "name": "A", "finding": "bore measured",
                        "measured": 2.001, "nominal": 2, "operator": "KL"},
    "control_chart": {"stress_psi": 4000},
    "readings": {"instrument": "load", "after_ns": 0},
    "exchange": {"instrument": "balance", "seconds": 2.5},
    "zero_load": {"operator": "KL"},
    "keep_trial": {"trial": {"media": [], "readings": 0, "rate_per_s": 0, "noise_psi": None,
                             "spikes_per_1000": 0, "double_spikes": 0, "fastest_psi_s": None,
                             "late_psi": None, "ten_would_do": None, "start": {}, "findings": []},
                   "operator": "KL"},
    "add_person": {"initials": "AB", "operator": "MB", "pin": "1234", "new_pin": "5678"},
    "change_pin": {"initials": "AB", "pin": "1234", "new_pin": "5678"},
    "retire_person": {"initials": "AB", "operator": "MB", "pin": "1234"},
    "renew_key": {"reason": "five years old", "operator": "KL"},
    "take_collector": {"fingerprint": "ab12", "reason": "moved", "operator": "KL"},
    "forget_hand": {"hand": "KL", "operator": "MB"},
    "take_certificate": {"operator": "KL", "text": "id = 1"},
    "trace": {"run": 1},
    "pump": {"act": "squeeze"},
    "load_balance": {"act": "put"},
    "choose_sand": {"quality": "weak"},
    "end_shaking": {"shaking": 3, "operator": "KL"},
    "run": {"run": 1},
    "subscribe": {"topics": ["event"]},
}  # fmt: skip


def test_every_row_stands_under_its_own_name_and_says_what_it_is_about():
    for name, row in (*METHODS.items(), *TOPICS.items()):
        assert row.name == name
        assert row.about


def test_only_what_happened_must_not_be_replaced():
    assert {topic.name for topic in TOPICS.values() if not topic.replaceable} == {"event", "record"}


@pytest.mark.parametrize("method", METHODS.values(), ids=METHODS.keys())
def test_every_method_takes_good_parameters_and_refuses_unknown_ones(method):
    good = GOOD.get(method.name, {})
    assert isinstance(method.read_params(good), method.params)
    with pytest.raises(InputError, match=f"^{method.name}: colour: unknown parameter$"):
        method.read_params(good | {"colour": "red"})
    with pytest.raises(InputError, match=f"^{method.name}: found a list: expected names with"):
        method.read_params([1])


@pytest.mark.parametrize("method", METHODS.values(), ids=METHODS.keys())
def test_every_parameter_and_result_can_be_described_as_json_schema(method):
    for part in (method.params, method.result):
        assert msgspec.json.schema(part)
        assert part.__doc__


@pytest.mark.parametrize(
    ("name", "bad", "expected"),
    [
        ("add_specimen", {"target_psi": -1}, "target_psi: expected a number of at least 0"),
        ("add_specimen", {"target_psi": "4000"}, "target_psi: found text: expected a number"),
        ("add_specimen", {"bore_in": -2}, "bore_in: expected a number of more than 0"),
        ("add_specimen", {"label": "  "}, "label: expected some text"),
        ("add_specimen", {"operator": ""}, "operator: expected some text"),
        ("add_specimen", {"operator": "K" * 13}, "operator: expected at most 12 characters"),
        ("start_run", {"specimen": 0}, "specimen: expected a whole number of at least 1"),
        ("start_run", {"specimen": 1.5}, "specimen: found a number: expected a whole number"),
        ("start_run", {"hold_s": -1}, "hold_s: expected a number of more than 0"),
        ("correct_mass", {"mass_g": -1}, "mass_g: expected a number of at least 0"),
        ("correct_mass", {"reason": ""}, "reason: expected some text"),
        ("weigh", {"load": "heavy"}, "load: unknown value 'heavy'"),
        ("weigh", {"mass_g": -0.1}, "mass_g: expected a number of at least 0"),
        ("sample", {"sample": 0}, "sample: expected a whole number of at least 1"),
        ("sample", {"sample": "  "}, "sample: expected some text"),
        ("decide_run", {"reason": " "}, "reason: expected some text"),
        (
            "enter_value",
            {"counts": [[0.7, -1]]},
            "counts 1 2: expected a whole number of at least 0",
        ),
        ("enter_value", {"counts": [[0.7]]}, "counts 1: expected 2 entries"),
        ("enter_value", {"values": [1] * 51}, "values: expected at most 50 entries"),
        ("enter_value", {"value": math.nan}, "value: expected a number of at least 0"),
        ("issue_report", {"sha256": "rubbish"}, "sha256: expected text like ^([0-9a-f]{64})?$"),
        ("check_equipment", {"equipment": "kettle"}, "equipment: unknown value 'kettle'"),
        ("run", {"run": 2**70}, "run: expected a whole number of at most 9.00719925e+15"),
        ("runs", {"limit": 201}, "limit: expected a whole number of at most 200"),
        ("subscribe", {"topics": "event"}, "topics: found text: expected a list"),
    ],
)
def test_a_wrong_parameter_is_named_with_what_was_expected(name, bad, expected):
    with pytest.raises(InputError, match=rf"^{name}: {re.escape(expected)}"):
        METHODS[name].read_params(GOOD.get(name, {}) | bad)


@pytest.mark.parametrize("name", [name for name, good in GOOD.items() if good])
def test_a_missing_parameter_is_named(name):
    needed = next(iter(GOOD[name]))
    less = {key: value for key, value in GOOD[name].items() if key != needed}
    with pytest.raises(InputError, match=f"^{name}: {needed}: missing parameter$"):
        METHODS[name].read_params(less)


def test_what_is_left_out_of_a_start_is_left_to_specimen_and_bench():
    params = METHODS["start_run"].read_params(GOOD["start_run"])
    assert (params.target_psi, params.rate_psi_min, params.hold_s, params.ceiling_lbf) == (
        None, None, None, None,
    )  # fmt: skip


def test_an_event_goes_out_as_it_is_kept_and_comes_back():
    lost = ReadingsLost(t_ns=7, since_ns=5)
    told = run_methods.RunEvent.of(3, 0, lost)
    text = msgspec.json.encode(told)
    assert json.loads(text) == {
        "run": 3,
        "seq": 0,
        "record": {"type": "ReadingsLost", "t_ns": 7, "since_ns": 5},
    }
    assert msgspec.json.decode(text, type=run_methods.RunEvent).event == lost


ACTS = {name: method for name, method in METHODS.items() if isinstance(method, Act)}

#: Parameters that are not in the record as they are: a certificate is kept as its file.
# Only a signature or none shows whether a key was lost, and a key its fingerprint.
NOT_RECORDED = {
    "review_sample": {"seen"},
    "take_certificate": {"text"}, "renew_key": {"lost"}, "take_collector": {"fingerprint"},
}  # fmt: skip


@pytest.mark.parametrize("act", ACTS.values(), ids=ACTS.keys())
def test_every_parameter_of_an_act_is_recorded_and_all_else_is_said_to_be_worked_out(act):
    fields = {field.name: field for field in msgspec.structs.fields(act.result)}
    # A PIN opens a key and is kept nowhere.
    params = set(act.params.__struct_fields__) - {"pin", "new_pin"}
    assert params - NOT_RECORDED.get(act.name, set()) <= set(fields)
    assert set(act.worked_out) <= set(fields)
    needed = {name for name, field in fields.items() if field.required}
    assert needed <= params | {"utc_ns", *act.worked_out}


def test_every_act_is_done_by_a_person_and_told_as_a_record():
    assert all(act.needs_initials and act.topic is ON_RECORD for act in ACTS.values())


@pytest.mark.parametrize("name", METHODS)
def test_what_needs_or_refuses_a_live_run_says_what_to_do_instead(name):
    method = METHODS[name]
    assert bool(method.advice) == (method.live_run is not RunNeed.ANY)
    if method.live_run is RunNeed.REQUIRED:
        method.check_run(3)
        with pytest.raises(CommandRefused, match=f"^no run is live: {method.advice}$"):
            method.check_run(None)
    elif method.live_run is RunNeed.REFUSED:
        method.check_run(None)
        with pytest.raises(CommandRefused, match=f"^run 3 is live: {method.advice}$"):
            method.check_run(3)
    else:
        method.check_run(3)
        method.check_run(None)
