"""`ramphold study`: a reproducibility study between operators, presses or laboratories."""

import csv
import io
from collections.abc import Iterable, Sequence
from pathlib import Path

import click

from ramphold import units
from ramphold.cli._common import CommandGroup, QuantityType, json_option, show, write_new
from ramphold.cli._csv_table import read_table
from ramphold.cli._study_text import study_lines
from ramphold.collector.archive import open_archive
from ramphold.collector.study_results import Between, study_results
from ramphold.method.study import study
from ramphold.method.study_plan import PlannedCrush, departures, plan_study
from ramphold.plain_text import harmless_cell

_PLAN = ("order", "round", "participant", "portion")
_RESULTS = ("laboratory", "result")
_FOUND = ("sample", "specimen", "label", "crushed")

_out_option = click.option(
    "--out", type=click.Path(path_type=Path), help="Write the CSV to a new file instead."
)


@click.group(cls=CommandGroup)
def command() -> None:
    """A round robin: plan who crushes what, collect the results, and report what they show.

    All crush one material, split into portions. Each receives a sample of it whose client reference
    names the material, and labels its specimens as the plan numbers them.
    """


@command.command()
@click.argument("participants", nargs=-1, required=True)
@click.option("--results", default=3, show_default=True, help="Results of each participant.")
@click.option("--seed", required=True, type=int, help="Of the draws; the same gives the same plan.")
@_out_option
def plan(*, participants: Sequence[str], results: int, seed: int, out: Path | None) -> None:
    """Who of PARTICIPANTS crushes which portion, in which order, as CSV.

    They are operators, presses or laboratories. Each crushes once in every round.
    """
    planned = plan_study(participants, results, seed)
    rows = ((one.order, one.round, one.participant, one.portion) for one in planned)
    _write(_PLAN, rows, out)


@command.command()
@click.option("--archive", required=True, metavar="URL", help="The archive: a file or a URL.")
@click.option("--reference", required=True, help="Client reference of the samples of the study.")
@click.option("--stress", type=QuantityType(units.STRESS), required=True, help="Stress crushed at.")
@click.option(
    "--between", type=click.Choice([one.value for one in Between]), required=True,
    help="Who takes part.",
)  # fmt: skip
@click.option("--plan", "plan_file", help="Compare with this plan; departures go to stderr.")
@_out_option
def collect(
    *,
    archive: str,
    reference: str,
    stress: float,
    between: str,
    plan_file: str | None,
    out: Path | None,
) -> None:
    """The results of a study from the laboratory's archive, as CSV for `report`.

    Every specimen that counts, of the samples with that client reference, at that stress. The exit
    status is 1 if it departs from the plan.
    """
    planned = None if plan_file is None else _read_plan(plan_file)
    with open_archive(archive, read_only=True) as opened, opened.snapshot():
        found = study_results(opened, reference, stress, Between(between))
    rows = (
        (one.participant, repr(one.fines_pct), one.sample, one.specimen, one.label, one.crushed)
        for one in found
    )
    _write((*_RESULTS, *_FOUND), rows, out)
    notes = () if planned is None else tuple(departures(planned, found))
    for note in notes:
        click.echo(note, err=True)
    if notes:
        raise SystemExit(1)


@command.command()
@click.argument("file")
@json_option
def report(*, file: str, as_json: bool) -> None:
    """What the results in FILE show (CSV `laboratory,result`, or as `collect` writes it).

    Mandel's h and k, repeatability and reproducibility (ASTM E691), Cochran's and Grubbs' tests
    (ISO 5725-2), of one material. A laboratory may as well be an operator or a press.
    """
    results: dict[str, list[float]] = {}
    for row in read_table(file, _RESULTS, others=_FOUND):
        results.setdefault(row.text("laboratory"), []).append(row.number("result"))
    found = study(results)
    show(found, "\n".join(study_lines(found)), as_json=as_json)


def _read_plan(file: str) -> tuple[PlannedCrush, ...]:
    return tuple(
        PlannedCrush(
            order=int(row.number("order", minimum=1)),
            round=int(row.number("round", minimum=1)),
            participant=row.text("participant"),
            portion=int(row.number("portion", minimum=1)),
        )
        for row in read_table(file, _PLAN)
    )


def _write(header: Sequence[str], rows: Iterable[Sequence[object]], out: Path | None) -> None:
    text = io.StringIO()
    lines = csv.writer(text, lineterminator="\n")
    lines.writerow(header)
    lines.writerows(map(harmless_cell, row) for row in rows)
    if out is None:
        click.echo(text.getvalue(), nl=False)
        return
    write_new(out, text.getvalue())
