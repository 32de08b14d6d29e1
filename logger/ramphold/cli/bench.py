"""`ramphold bench`: what the bench knows of itself, through the running daemon."""

from typing import Any

import click

from ramphold import units
from ramphold.cli._bench_text import bench_lines, control_lines, status_lines
from ramphold.cli._common import CommandGroup, QuantityType
from ramphold.cli._daily import DAILY_COMMANDS
from ramphold.cli._method_command import method_command
from ramphold.control.bench_methods import (
    BENCH_RECORD,
    CALIBRATE_CYLINDER,
    CHECK_EQUIPMENT,
    CONTROL_CHART,
    MAKE_DAILY_CHECK,
)
from ramphold.control.hand_methods import FORGET_HAND, HANDS
from ramphold.control.server_methods import STATUS
from ramphold.control.simulated_methods import CHOOSE_SAND, LOAD_BALANCE
from ramphold.method.daily_check import DAILY_CHECKS, CheckVerdict
from ramphold.method.wear import EQUIPMENT
from ramphold.trust import TrustLevel, worst
from ramphold_tui.view.hand_table import hand_lines


@click.group("bench", cls=CommandGroup)
def command() -> None:
    """Trust, cylinders, daily checks, wear of cells and sieves, the control sand, hands."""


def _in_unit_of_kind(given: dict[str, Any]) -> dict[str, Any]:
    """Lengths are typed with their unit; each kind of equipment is recorded in its own."""
    kind = EQUIPMENT[given["equipment"]]
    lengths = {"measured", "nominal", "measured_u", "spread"} & given.keys()
    return given | {name: kind.in_unit(given[name]) for name in lengths}


for _one in (
    method_command(
        STATUS,
        "status",
        text=lambda found: "\n".join(status_lines(found)),
        failed=lambda found: getattr(worst(found.trust), "level", None) == TrustLevel.BAD,
        about="What the bench is doing, and how far it can be trusted.\n\n"
        "Recording, clock, instruments, backup, server and certificates are each well, doubtful "
        "or bad, with what to do. The exit status is 1 if one is bad.",
    ),
    method_command(
        BENCH_RECORD,
        "show",
        text=lambda found: "\n".join(bench_lines(found)),
        about="Certificates, checks, cylinders, wear, own spread, warnings of the idle press.",
    ),
    *DAILY_COMMANDS,
    method_command(
        MAKE_DAILY_CHECK,
        "daily",
        "rule",
        "measured",
        "expected",
        options={
            "rule": click.Argument(
                ["rule"], type=click.Choice([check.name for check in DAILY_CHECKS])
            )
        },
        text=lambda kept: f"{kept.rule}: {kept.verdict}, {kept.off_pct:+.3f} % off",
        failed=lambda kept: kept.verdict == CheckVerdict.FAILED,
        about="Enter a check: what an instrument MEASURED where EXPECTED was known.\n\n"
        "The exit status is 1 if it failed.",
    ),
    method_command(
        CALIBRATE_CYLINDER,
        "cylinder",
        "cylinder",
        options={"temp_c": "--water-at"},
        text=lambda kept: (
            f"cylinder {kept.cylinder} holds {kept.volume_cm3:.3f} cm3, record {kept.record}"
        ),
        about="Calibrate CYLINDER, once it has been weighed empty and full of water.\n\n"
        "Weigh it by `ramphold weigh --test cylinder --item CYLINDER --load tare`, then "
        "`--load gross`.",
    ),
    method_command(
        CHECK_EQUIPMENT,
        "equipment",
        "equipment",
        "name",
        options={
            "usable": click.Option(
                ["--out-of-use", "usable"],
                flag_value=False,
                default=None,
                help="It is taken out of use.",
            ),
            "measured": click.Option(
                ["--measured"], type=QuantityType(units.LENGTH), help="Bore, or mean opening."
            ),
            "nominal": click.Option(
                ["--nominal"], type=QuantityType(units.LENGTH), help="The same when it was made."
            ),
            "measured_u": click.Option(
                ["--uncertainty", "measured_u"],
                type=QuantityType(units.LENGTH),
                help="Standard uncertainty of the mean opening of a sieve.",
            ),
            "spread": click.Option(
                ["--spread"],
                type=QuantityType(units.LENGTH),
                help="Standard deviation of a sieve's openings.",
            ),
        },
        prepare=_in_unit_of_kind,
        text=lambda kept: f"{kept.title}: {kept.finding}",
    ),
    method_command(
        CONTROL_CHART,
        "control",
        "stress_psi",
        text=lambda found: "\n".join(control_lines(found)),
        failed=lambda found: any(map(found.unanswered, found.judged)),
        about="The control sand's days at STRESS, against the base period of the first 20.\n\n"
        "The exit status is 1 while a day that signals has no answer.",
    ),
    method_command(
        HANDS,
        "hands",
        text=lambda found: "\n".join(line.text for line in hand_lines(found)),
        about="What the pacing knows of each hand on each press, and where it learned it.\n\n"
        "That is: time from a cue to the hand's answer, what a top-up gains a second of a full "
        "stroke, the gain of a stroke against a usual press with its standard deviation, and how "
        "many cues had to be said again.",
    ),
    method_command(
        FORGET_HAND,
        "forget-hand",
        "hand",
        text=lambda kept: f"forgotten: the hand of {kept.hand} at {kept.press}",
        about="Forget what the pacing learned of HAND, given by initials, on a press.\n\n"
        "Later runs of this hand start like those of a new one. Runs that were made stay as they "
        "are.",
    ),
    method_command(
        LOAD_BALANCE,
        "load-balance",
        "act",
        text=lambda loaded: f"{loaded.mass_g:.3f} g on the simulated balance",
        about="Load the balance of a demo: put, more, less or clear.\n\n"
        "`put` pours or puts on it what a place asks for, which is named as in `ramphold weigh`.",
    ),
    method_command(
        CHOOSE_SAND,
        "sand",
        "quality",
        text=lambda found: f"{found.quality}: {found.ten_pct_psi:.0f} psi crush a tenth of it",
        about="Choose the sand that the next cell of a demo holds: weak, fair or strong.",
    ),
):
    command.add_command(_one)
