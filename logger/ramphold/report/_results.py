"""The results of a sample as plain numbers, for other programs."""

import json
import math
from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any

from ramphold.core.trace import Trace
from ramphold.report._report_input import Issue, ReportInput
from ramphold.report._stated_results import StatedResult, stated_results
from ramphold.sample import SampleRecord, edition_file_words


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportedResult:
    """What a report says of one result, unrounded; None where it is not known.

    Attributes:
        laboratory_number: of the sample.
        result: what it is, such as `mean fines at 4000 psi`.
        stress_psi: of fines; None for another result.
        value, unit: the result.
        n: how many specimens or determinations it is the mean of.
        sd: their standard deviation.
        expanded_u, k: expanded uncertainty for 95 % in the unit of the result, and its coverage
            factor.
        u_covers: what U covers; why there is none where it is not known.
        limit, limit_is: the limit, and whether it is the `most` or the `least`.
        within: whether the value is within it, by simple acceptance.
        accepted: whether the decision rule of the sample accepts it.
        probability: that the true value is within the limit.
        crush_class: of the whole sample, by the rule; with fines only.
    """

    laboratory_number: str
    result: str
    stress_psi: float | None
    value: float
    unit: str
    n: int
    sd: float | None
    expanded_u: float | None
    k: float | None
    u_covers: str
    limit: float | None
    limit_is: str
    within: bool | None
    accepted: bool | None
    probability: float | None
    crush_class: str


def reported_results(
    record: SampleRecord, trace: Callable[[int], Trace]
) -> tuple[ReportedResult, ...]:
    """Each result of a sample, those with a limit first.

    Args:
        record: the sample.
        trace: returns the trace of a run by its number.
    """
    return _reported(ReportInput(record=record, trace=trace, issue=Issue(utc_ns=0), tampering=None))


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
        "results": [asdict(one) for one in _reported(given)],
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


def _reported(given: ReportInput) -> tuple[ReportedResult, ...]:
    record, evidence = given.record, given.evidence
    classes = record.edition.class_fines_pct is not None
    crush_class = (classes and evidence is not None and evidence.found.crush_class) or ""
    return tuple(
        _one(one, record.sample.laboratory_number, crush_class) for one in stated_results(given)
    )


def _one(one: StatedResult, laboratory_number: str, crush_class: str) -> ReportedResult:
    decision, budget = one.decision, one.budget
    return ReportedResult(
        laboratory_number=laboratory_number,
        result=one.what,
        stress_psi=one.stress_psi,
        value=one.value,
        unit=one.unit,
        n=one.n,
        sd=one.sd,
        expanded_u=None if budget is None else budget.expanded,
        k=None if budget is None else budget.k,
        u_covers=one.covers,
        limit=None if decision is None else decision.limit,
        limit_is="" if decision is None else ("most" if decision.upper else "least"),
        within=None if decision is None else decision.within,
        accepted=None if decision is None else decision.accepted,
        probability=None if decision is None else decision.probability,
        crush_class=crush_class if one.stress_psi is not None else "",
    )
