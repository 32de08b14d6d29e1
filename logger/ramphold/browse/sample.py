"""A sample: its report, its runs, files of it, and whether it is what was filed."""

import csv
import importlib
import importlib.util
import io
from collections.abc import Callable
from typing import Any

import msgspec
from datasette.utils.asgi import NotFound, Request, Response

from ramphold.browse._sample_reports import SampleReport
from ramphold.browse.links import run_path, sample_path
from ramphold.browse.site import Site
from ramphold.browse.words import clock_minute, number
from ramphold.collector.archive import Archive
from ramphold.plain_text import harmless_cell
from ramphold.report import html, report_name
from ramphold.sample import RunFinished, SpecimenRecord

_SPECIMENS = (
    "bench", "laboratory_number", "label", "target_psi", "press", "cell", "operator", "crushed",
    "verdict", "charge_g", "pan_g", "fines_pct", "counts", "because", "run", "disputed",
)  # fmt: skip
_AT = r"/samples/(?P<series>[0-9a-f]{32})/(?P<sample>[0-9]{1,15})"


async def sample_page(site: Site, request: Request) -> Response:
    """The report, with what else there is of the sample."""
    series, sample = _asked(request)
    found = await site.read(lambda archive: _report(site, archive, request))
    values = {
        "path": sample_path(series, sample),
        "number": found.record.sample.laboratory_number,
        "bench": found.bench,
        "disputed": found.disputed,
        "runs": [_run(series, one, run) for one in found.record.specimens for run in one.runs],
        "pdf": _has_pdf(),
    }
    return await site.show(request, "sample.html", values, markup={"sheet": found.sheet})


async def report_html(site: Site, request: Request) -> Response:
    """The report as the file that `ramphold report` writes."""
    found = await site.read(lambda archive: _report(site, archive, request))
    return _file(found, ".html", html(found.document).encode(), "text/html; charset=utf-8")


async def report_pdf(site: Site, request: Request) -> Response:
    """The report as PDF, on Letter or with `?paper=a4` on A4."""
    paper = "a4" if request.args.get("paper") == "a4" else "letter"
    if not _has_pdf():
        raise NotFound("a PDF needs reportlab on this server")

    def made(archive: Archive) -> tuple[SampleReport, bytes]:
        found = _report(site, archive, request)
        printed: bytes = importlib.import_module("ramphold.report.pdf").pdf(found.document, paper)
        return found, printed

    found, content = await site.read(made)
    return _file(found, ".pdf", content, "application/pdf")


async def specimens_csv(site: Site, request: Request) -> Response:
    """Every specimen of the sample, as in the view `specimens`."""

    def made(archive: Archive) -> tuple[SampleReport, list[tuple[Any, ...]]]:
        found = _report(site, archive, request)
        rows = archive.database.rows(
            f"SELECT {', '.join(_SPECIMENS)} FROM specimens WHERE series = ? AND sample = ? "  # noqa: S608 - ours
            "ORDER BY specimen",
            _asked(request),
        )
        return found, rows

    found, rows = await site.read(made)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(_SPECIMENS)
    writer.writerows([harmless_cell(one) for one in row] for row in rows)
    return _file(found, "-specimens.csv", text.getvalue().encode(), "text/csv; charset=utf-8")


async def sample_json(site: Site, request: Request) -> Response:
    """The whole sample, as `ramphold export sample` writes it."""
    found = await site.read(lambda archive: _report(site, archive, request))
    return _file(found, ".json", msgspec.json.encode(found.record) + b"\n", "application/json")


def _asked(request: Request) -> tuple[str, int]:
    return request.url_vars["series"], int(request.url_vars["sample"])


def _report(site: Site, archive: Archive, request: Request) -> SampleReport:
    return site.reports.of(archive, *_asked(request), site.clock.utc_ns())


def _run(series: str, one: SpecimenRecord, run: RunFinished) -> dict[str, Any]:
    return {
        "path": run_path(series, run.run),
        "run": run.run,
        "label": one.added.label,
        "target": number(run.target_psi, ",.0f"),
        "started": clock_minute(run.started_utc_ns),
        "operator": run.operator,
        "rate": number(run.ramp_rate_psi_min, ",.0f"),
        "mean": number(run.hold_mean_psi, ",.0f"),
        "held": number(run.held_s, ".1f"),
        "fines": number(one.fines_pct if run is one.run else None, ".2f"),
        "verdict": run.verdict or run.state,
        "failed": run.verdict != "pass",
    }


def _has_pdf() -> bool:
    return importlib.util.find_spec("reportlab") is not None


def _file(found: SampleReport, ending: str, content: bytes, kind: str) -> Response:
    sample = found.record.sample
    name = report_name(found.bench, sample.sample, sample.laboratory_number, None)
    if not ending.startswith((".html", ".pdf")):
        name = name.removesuffix("-draft")
    headers = {"Content-Disposition": f'attachment; filename="{name}{ending}"'}
    return Response(content, headers=headers, content_type=kind)


ROUTES: tuple[tuple[str, Callable[..., Any]], ...] = (
    (_AT, sample_page),
    (rf"{_AT}/report\.html", report_html),
    (rf"{_AT}/report\.pdf", report_pdf),
    (rf"{_AT}/specimens\.csv", specimens_csv),
    (rf"{_AT}/sample\.json", sample_json),
)
