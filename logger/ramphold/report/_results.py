"""The results of a sample as plain numbers, for other programs."""

import json
import math
from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any

from ramphold.core.trace import Trace
from ramphold.method.limits import over
from ramphold.report._report_input import Issue, ReportInput
from ramphold.sample import SampleRecord, edition_file_words


@dataclass(frozen=True, slots=True, kw_only=True)
class StressResult:
    """What a report says of one stress, unrounded; None where it is not known.

    Attributes:
        laboratory_number: of the sample.
        stress_psi: the stress.
        specimens: how many count.
        mean_pct, sd_pct: mean and standard deviation of their fines in % of the charge.
        expanded_u_pct, k: expanded uncertainty of the mean for 95 %, and its coverage factor.
        limit_pct: greatest mean fines.
        within: whether the mean is within the limit, by simple acceptance.
        probability: that the true mean is.
        crush_class: of the whole sample, by the rule; empty if it has none.
    """

    laboratory_number: str
    stress_psi: float
    specimens: int
    mean_pct: float
    sd_pct: float | None
    expanded_u_pct: float | None
    k: float | None
    limit_pct: float | None
    within: bool | None
    probability: float | None
    crush_class: str


def stress_results(record: SampleRecord, trace: Callable[[int], Trace]) -> tuple[StressResult, ...]:
    """The results at each stress with specimens that count, the lowest stress first.

    Args:
        record: the sample.
        trace: returns the trace of a run by its number.
    """
    return _stress_results(
        ReportInput(record=record, trace=trace, issue=Issue(utc_ns=0), tampering=None)
    )


def results_json(given: ReportInput) -> str:
    """What the report states, for other programs: numbers with their U and units in the names.

    Values are unrounded but for the binary noise behind the ninth digit. Whatever is no ASCII is
    escaped, hidden characters too.
    """
    record, sieving = given.record, given.record.sieving.analysis
    sample = record.sample
    found = {
        "laboratory_number": sample.laboratory_number,
        "client_reference": sample.client_reference,
        "material": str(sample.material),
        "size": sample.size,
        "edition": record.edition.name,
        "edition_file": edition_file_words(sample),
        "revision": given.issue.revision,
        "record_sha256": record.chain.sha256,
        "guard_band_u": sample.guard_band,
        "class_probability": record.class_probability,
        "stresses": [asdict(one) for one in _stress_results(given)],
        "bulk_density_g_cm3": record.density.bulk_density_g_cm3,
        "sieve_analysis": sieving and asdict(sieving),
    }
    return json.dumps(_without_noise(found), indent=1)


def _without_noise(value: Any) -> Any:  # noqa: ANN401 - whatever JSON holds
    if isinstance(value, float):
        return float(f"{value:.9g}") if math.isfinite(value) else None
    if isinstance(value, dict):
        return {key: _without_noise(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_without_noise(one) for one in value]
    return value


def _stress_results(given: ReportInput) -> tuple[StressResult, ...]:
    record = given.record
    if (evidence := given.evidence) is None:
        return ()
    limit_pct = given.limit_pct
    classes = record.edition.class_fines_pct is not None
    passes = {one.stress_psi: one.passes for one in evidence.stresses}
    return tuple(
        StressResult(
            laboratory_number=record.sample.laboratory_number,
            stress_psi=point.stress_psi,
            specimens=point.n,
            mean_pct=point.mean_pct,
            sd_pct=point.sd_pct,
            expanded_u_pct=None if budgets.fines is None else budgets.fines.expanded,
            k=None if budgets.fines is None else budgets.fines.k,
            limit_pct=limit_pct,
            within=None if limit_pct is None else not over(point.mean_pct, limit_pct),
            probability=passes.get(point.stress_psi) if limit_pct is not None else None,
            crush_class=(classes and evidence.found.crush_class) or "",
        )
        for point, budgets in zip(evidence.found.points, given.budgets, strict=True)
    )
