"""A command follows from the declaration of its method."""

from enum import StrEnum
from typing import Annotated

import click
import pytest

from ramphold.cli._method_command import method_command
from ramphold.cli.bench import command as bench
from ramphold.cli.sample import command as sample
from ramphold.control.act import (
    Above0,
    ActParams,
    Method,
    NoParams,
    Number,
    SampleKey,
    Text,
    doc,
)


class Grain(StrEnum):
    """What a pick is of."""

    SAND = "sand"
    COATED = "coated with resin"


class PickParams(ActParams, frozen=True, kw_only=True):
    """Parameters of every kind."""

    sample: SampleKey
    stress_psi: Above0
    bore_in: Annotated[Above0, doc("Bore of the cell.")] = 2.0
    hold_s: Above0 | None = None
    mass_g: float | None = None
    count: Number = 3
    grain: Grain = Grain.SAND
    notes: tuple[Text, ...] = ()
    wet: bool = False


PICK = Method("pick", PickParams, NoParams, "pick a grain")


@pytest.fixture
def parsed():
    """A function that gives the parameters a command line means."""
    command = method_command(PICK, "pick", "sample", "stress_psi", text=str)

    def parse(*line):
        context = command.make_context("pick", [*line, "--by", "KL"])
        del context.params["as_json"]
        return {key: value for key, value in context.params.items() if value not in (None, ())}

    return parse


def test_a_quantity_is_typed_with_its_unit_under_its_name_without_one(parsed):
    given = parsed("26-1", "27.579029 MPa", "--bore", "50.8mm", "--hold", "2min", "--mass", "1.5")
    # 4000 psi are 27.579029 MPa (NIST SP 811, appendix B.8); 50.8 mm are 2 in exactly.
    assert given["stress_psi"] == pytest.approx(4000.0, rel=1e-7)
    assert given["bore_in"] == pytest.approx(2.0)
    assert (given["hold_s"], given["mass_g"]) == (120.0, 1.5)


def test_a_sample_goes_by_its_number_or_by_the_laboratorys(parsed):
    assert parsed("#7", "1psi")["sample"] == 7
    assert parsed("7", "1psi")["sample"] == "7"


def test_a_choice_is_typed_as_its_value_or_by_its_name_where_that_has_spaces(parsed):
    assert parsed("a", "1psi", "--grain", "sand")["grain"] is Grain.SAND
    assert parsed("a", "1psi", "--grain", "coated")["grain"] is Grain.COATED


def test_what_is_not_given_is_left_to_the_declaration(parsed):
    assert parsed("a", "1psi") == {"sample": "a", "stress_psi": 1.0, "operator": "KL"}


def test_a_flag_is_set_and_a_list_grows_by_repeating_its_option(parsed):
    given = parsed("a", "1psi", "--wet", "--notes", "x", "--notes", "y", "--count", "2")
    assert (given["wet"], given["notes"], given["count"]) == (True, ("x", "y"), 2)


@pytest.mark.parametrize("line", [("--bore", "2"), ("--grain", "loam"), ("--count", "0")])
def test_a_wrong_value_is_refused_before_the_daemon_is_asked(parsed, line):
    with pytest.raises(click.BadParameter) as told:
        parsed("a", "1psi", *line)
    assert line[0] in told.value.format_message()


def test_the_help_is_what_the_declaration_says():
    command = method_command(PICK, "pick", "sample", "stress_psi", text=str)
    shown = command.get_help(click.Context(command, info_name="pick"))
    assert shown.startswith("Usage: pick [OPTIONS] SAMPLE STRESS\n\n  Pick a grain.\n")
    assert "Bore of the cell. [default: 2 in]" in shown
    assert "--by INITIALS" in shown


def test_a_sample_and_its_specimens_can_be_worked_on_and_the_bench_kept():
    assert set(sample.commands) == {
        "add", "list", "show", "correct", "plan", "next", "cylinder", "enter", "answer", "review",
        "specimen", "tick", "leave-out", "decide", "shake", "sieve", "instrument",
    }  # fmt: skip
    assert set(bench.commands) == {
        "show", "zero", "span", "weight", "daily", "cylinder", "equipment", "control", "hands",
        "forget-hand", "load-balance", "sand", "status",
    }  # fmt: skip
