"""Whether a sample is what was filed: checked anew each time, and shown with what to compare."""

from typing import Any

from datasette.utils.asgi import Request, Response

from ramphold.browse.links import sample_path
from ramphold.browse.site import Site
from ramphold.browse.words import clock_minute, day
from ramphold.collector.archive import Archive
from ramphold.collector.archived_sample import ArchivedSample
from ramphold.keys.person_signature import signer_text

_VOUCHED = """SELECT b.fingerprint, b.vouched, k.accepted_by, k.utc_ns,
    (SELECT count(*) FROM heads h WHERE h.series = b.series AND h.agrees = 0)
    FROM benches b LEFT JOIN bench_keys k ON k.bench = b.bench AND k.fingerprint = b.fingerprint
    WHERE b.series = ?"""


async def verify_page(site: Site, request: Request) -> Response:
    """The checks of one sample, by series and number."""
    series, sample = request.url_vars["series"], int(request.url_vars["sample"])
    values = await site.read(lambda archive: _checked(site, archive, series, sample))
    return await site.show(request, "verify.html", values)


def _checked(site: Site, archive: Archive, series: str, sample: int) -> dict[str, Any]:
    """What the checks of a sample find, and what a person can compare."""
    found = ArchivedSample(archive, series, sample)
    record = found.record(site.reports.bench(archive, found))
    ((fingerprint, vouched, by, since_utc_ns, contradicted),) = archive.database.rows(
        _VOUCHED, (series,)
    )
    findings = list(found.findings())
    if contradicted:
        findings.append(f"{contradicted} signed heads or receipts are over other records of it")
    return {
        "path": sample_path(series, sample),
        "number": record.sample.laboratory_number,
        "bench": found.bench_name(),
        "findings": findings,
        "notes": [{"title": title, "text": text} for title, text in found.notes()],
        "records": record.chain.records,
        "link": record.chain.sha256,
        "runs": sum(len(one.runs) for one in record.specimens),
        "fingerprint": fingerprint,
        "vouched": vouched >= record.chain.newest,
        "accepted": by and {"by": by, "day": day(since_utc_ns)},
        "issued": [
            {
                "revision": one.revision,
                "by": signer_text(one.operator, one.signed),
                "when": clock_minute(one.utc_ns),
                "sha256": one.sha256,
                "pdf_sha256": one.pdf_sha256,
            }
            for one in record.reports
        ],
    }


ROUTES = ((r"/samples/(?P<series>[0-9a-f]{32})/(?P<sample>[0-9]{1,15})/verify", verify_page),)
