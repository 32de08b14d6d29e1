"""A run: its trace as a figure that can be zoomed, its figures, and its events.

Without a script the page shows the figure of the report; with one, a figure of the readings that
`readings.json` gives. Other runs can be laid over it.
"""

import math
from collections.abc import Callable, Iterator
from typing import Any

import msgspec
from datasette.utils.asgi import NotFound, Request, Response

from ramphold.browse._run_readings import run_readings
from ramphold.browse.links import run_path, sample_path
from ramphold.browse.site import Site
from ramphold.browse.words import clock_minute, number
from ramphold.collector.archive import Archive
from ramphold.collector.archived_sample import ArchivedSample
from ramphold.report.run_view import run_svg
from ramphold.sample import RunCheck, RunFinished
from ramphold.wire import decode_body
from ramphold.wire.packed_trace import trace_lines, unpack_trace

_RUN = """SELECT e.body, e.sample, b.bench, b.standing FROM run_data r
    CROSS JOIN benches b CROSS JOIN events e
    WHERE r.series = ? AND r.run = ? AND b.series = r.series
    AND b.standing IN ('in force', 'disputed') AND e.series = r.series AND e.record = r.record"""
_OF_SAMPLE = """SELECT e.body, p.label FROM events e
    LEFT JOIN specimen_results p ON p.series = e.series AND p.specimen = e.specimen
    WHERE e.series = ? AND e.sample = ? AND e.kind = 'run' ORDER BY e.record"""
_NUMBER = "SELECT laboratory_number FROM sample_results WHERE series = ? AND sample = ?"
_MOST_BESIDE, _COLUMNS, _MOST_COLUMNS = 6, 1000, 4000
_AT = r"/runs/(?P<series>[0-9a-f]{32})/(?P<run>[0-9]{1,15})"


async def run_page(site: Site, request: Request) -> Response:
    """One run, by series and number, with those that are laid over it."""
    values, figures = await site.read(lambda archive: _values(archive, request))
    return await site.show(request, "run.html", values, markup={"figures": figures})


async def readings_json(site: Site, request: Request) -> Response:
    """Readings for the figure: `from` and `to` in s since the run's start, and how many columns."""
    asked = request.args
    begin_s, end_s = _number(asked.get("from"), 0.0), _number(asked.get("to"), math.inf)
    columns = int(min(max(_number(asked.get("columns"), _COLUMNS), 10), _MOST_COLUMNS))

    def made(archive: Archive) -> bytes:
        series, run = _asked(request)
        record, *_ = _found(archive, series, run)
        trace = ArchivedSample(archive, series, 0).trace(run)
        return msgspec.json.encode(
            run_readings(record, trace, begin_s=begin_s, end_s=end_s, columns=columns)
        )

    return Response(await site.read(made), content_type="application/json")


async def readings_csv(site: Site, request: Request) -> Response:
    """Every reading as `ramphold export` writes it: the file whose hash the run's record has."""
    series, run = _asked(request)

    def made(archive: Archive) -> tuple[str, str]:
        _, _, bench, _ = _found(archive, series, run)
        held = archive.run(series, run)
        return bench, "".join(trace_lines(unpack_trace(held.trace))) if held else ""

    bench, text = await site.read(made)
    headers = {"Content-Disposition": f'attachment; filename="{bench}-run-{run}.csv"'}
    return Response(text.encode(), headers=headers, content_type="text/csv; charset=utf-8")


def _asked(request: Request) -> tuple[str, int]:
    return request.url_vars["series"], int(request.url_vars["run"])


def _number(text: str | None, otherwise: float) -> float:
    try:
        found = float(text or otherwise)
    except ValueError:
        return otherwise
    return otherwise if math.isnan(found) else found


def _found(archive: Archive, series: str, run: int) -> tuple[RunFinished, int | None, str, str]:
    """The record of a run, its sample, its bench, and how that stands."""
    for body, sample, bench, standing in archive.database.rows(_RUN, (series, run)):
        record = decode_body(body)
        if isinstance(record, RunFinished):
            return record, sample, bench, standing
    raise NotFound(f"there is no run {run} of that bench")


def _values(archive: Archive, request: Request) -> tuple[dict[str, Any], str]:
    series, run = _asked(request)
    record, sample, bench, standing = _found(archive, series, run)
    held = ArchivedSample(archive, series, sample or 0)
    others = _others(archive, series, sample)
    asked = {int(one) for one in request.args.getlist("with") if one.isdecimal()}
    beside = [one for one, _ in others if one.run in asked and one.run != run][:_MOST_BESIDE]
    shown = [record, *beside]
    figures = "".join(
        f"<figure>{run_svg(one, held.trace(one.run))}"
        f"<figcaption>Run {one.run}, {one.target_psi:,.0f} psi</figcaption></figure>"
        for one in shown
    )
    return {
        "run": run,
        "bench": bench,
        "disputed": standing == "disputed",
        "path": run_path(series, run),
        "sample": sample and _sample(archive, series, sample),
        "label": next((label for one, label in others if one.run == run), ""),
        "facts": list(_facts(record)),
        "checks": [_check(one) for one in record.checks],
        "moments": [
            {"t_s": number(one.t_s, ".1f"), "state": one.state, "reason": one.reason}
            for one in record.moments
        ],
        "findings": [text for one in shown for text in held.run_findings(one, by_csv=False)],
        "shown": [{"run": one.run, "path": run_path(series, one.run)} for one in shown],
        "others": [_other(series, one, label, asked) for one, label in others if one.run != run],
    }, figures


def _others(
    archive: Archive, series: str, sample: int | None
) -> list[tuple[RunFinished, str | None]]:
    rows = archive.database.rows(_OF_SAMPLE, (series, sample)) if sample else []
    decoded = [(decode_body(body), label) for body, label in rows]
    return [(one, label) for one, label in decoded if isinstance(one, RunFinished)]


def _sample(archive: Archive, series: str, sample: int) -> dict[str, str]:
    rows = archive.database.rows(_NUMBER, (series, sample))
    return {"number": rows[0][0] if rows else f"#{sample}", "path": sample_path(series, sample)}


def _other(series: str, one: RunFinished, label: str | None, asked: set[int]) -> dict[str, Any]:
    return {
        "run": one.run,
        "path": run_path(series, one.run),
        "label": label,
        "target": number(one.target_psi, ",.0f"),
        "verdict": one.verdict or one.state,
        "chosen": one.run in asked,
    }


def _facts(one: RunFinished) -> Iterator[tuple[str, str]]:
    yield "Target", f"{one.target_psi:,.0f} psi in a bore of {one.bore_in:g} in"
    yield "Ended", f"{one.state}: {one.reason}"
    yield "Verdict", one.verdict or "not judged"
    yield "Operator", one.operator
    yield "Started", f"{clock_minute(one.started_utc_ns)} UTC"
    yield "Mean of the hold", f"{number(one.hold_mean_psi, ',.0f')} psi"
    yield "Greatest load", f"{number(one.peak_lbf, ',.0f')} lbf"
    yield "Ceiling", f"{one.ceiling_lbf:,.0f} lbf"
    yield "Readings", f"{one.readings:,d}"
    yield "Certificates in force", ", ".join(one.certificates) or "none"
    if one.by_pressure:
        yield "Load", "follows from oil pressure, seal friction included"
    if one.anyway:
        yield "Started although", one.anyway


def _check(one: RunCheck) -> dict[str, Any]:
    return {
        "name": one.name,
        "value": number(one.value, ",.5g"),
        "unit": one.unit,
        "low": number(one.low, ",.5g"),
        "high": number(one.high, ",.5g"),
        "verdict": {True: "pass", False: "fail", None: "not judged"}[one.passed],
    }


ROUTES: tuple[tuple[str, Callable[..., Any]], ...] = (
    (_AT, run_page),
    (rf"{_AT}/readings\.json", readings_json),
    (rf"{_AT}/readings\.csv", readings_csv),
)
