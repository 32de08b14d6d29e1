"""The sample, the method as applied, and departures from the edition."""

from collections import Counter
from collections.abc import Iterator

from ramphold.method.cell import STANDARD_BORE_IN
from ramphold.method.editions import ChargeByArea, ConstantRate, Edition
from ramphold.method.sieve_openings import blank_finding
from ramphold.report._document import Block, Facts, Group, listed
from ramphold.report._format import NONE, number, psi, together, together_by_specimen
from ramphold.report._report_input import ReportInput
from ramphold.sample import CUT, SampleRecord, SpecimenRecord, edition_file_words, standing

#: The title of the section.
METHOD_TITLE = "Sample and method"

_SLACK = 1e-9


def method_blocks(given: ReportInput) -> Iterator[Block]:
    """Identification, and requirements of the edition."""
    record = given.record
    yield Facts(tuple(_sample(record)))
    yield Group(title="Method as applied", blocks=(Facts(tuple(_method(given))),))
    nothing = "None: rates, holds, times, charges and numbers are those of the edition."
    said = listed(departures(record), nothing)
    yield Group(title="Deviations from the edition", blocks=(said,))


def _sample(record: SampleRecord) -> Iterator[tuple[str, str]]:
    sample = record.sample
    yield "Laboratory number", sample.laboratory_number
    yield "Client reference", sample.client_reference or NONE
    yield "Claimed size", sample.size
    yield "Material", str(sample.material)
    yield "Intended use", sample.use
    yield "Kind of sample", "client's sample" if sample.role == "client" else "control sand"
    yield "Tests asked for", together(sample.tests)
    yield "Remarks", sample.remarks or NONE
    yield "State of the record", str(record.state)


def _method(given: ReportInput) -> Iterator[tuple[str, str]]:
    edition, sample = given.record.edition, given.record.sample
    yield "Edition", edition.name
    yield "File of the edition", edition_file_words(sample)
    yield "Ramp", _ramp(edition)
    yield "Hold", f"{edition.hold_s:g} s at the target"
    yield "Charge", f"{_charge(edition)}, within {sample.charge_tolerance_g:g}\u00a0g"
    yield "Sieving", f"{edition.sieve_s / 60:g} min on the shaker"
    yield "Specimens per stress", f"{edition.replicates} or more"
    limit = given.limit_pct
    yield "Limit of the fines", "none for this size" if limit is None else f"{limit:g} %, mean"
    if edition.class_fines_pct is not None:
        rule = (
            f"the greatest stress tested below the lowest that fails; a stress fails if its "
            f"unrounded mean is over {edition.class_fines_pct:g} %; truncated to whole thousands "
            "of psi"
        )
        yield "Crush class", rule
    planned = (f"{psi(one.stress_psi)} psi × {one.replicates}" for one in given.record.plan)  # noqa: RUF001 - a times sign
    yield "Plan", together(planned, NONE)


def _ramp(edition: Edition) -> str:
    if isinstance(edition.ramp, ConstantRate):
        return f"{edition.ramp.rate_psi_min:g} psi/min to the target"
    return f"to the target in {edition.ramp.time_s:g} s"


def _charge(edition: Edition) -> str:
    if isinstance(edition.charge, ChargeByArea):
        return f"{edition.charge.areal_lb_ft2:g} lb/ft2 of cell area"
    return f"{edition.charge.volume_cm3:g} cm3 of loose material in the standard bore"


def departures(record: SampleRecord) -> Iterator[str]:
    """What was done otherwise than the edition asks."""
    edition = record.edition
    yield from together_by_specimen(
        (one.number, said) for one in record.specimens for said in _of_specimen(edition, one)
    )
    yield from (*record.cut.contradictions, *record.cut.losses)
    yield from _of_kept_anyway(record)
    yield from _of_sieves(record)
    shaking = record.sieve_shaking
    if shaking is not None and shaking.shaken_s < edition.sieve_s:
        yield f"sieve analysis: {_shaken(shaking.shaken_s, edition.sieve_s)}"
    counts = Counter(stress_psi for stress_psi, _ in record.counted)
    for stress_psi, n in sorted(counts.items()):
        if n < edition.replicates:
            yield (
                f"{psi(stress_psi)} psi: {n} specimens count, the edition requires "
                f"{edition.replicates}"
            )


def _of_kept_anyway(record: SampleRecord) -> Iterator[str]:
    """Masses of the cut that a person kept with a reason."""
    for one in standing(record.masses).values():
        if one.test == CUT and one.anyway:
            yield f"{one.place}, {one.mass_g:.3f} g, kept by {one.operator}: {one.anyway}"


def _of_sieves(record: SampleRecord) -> Iterator[str]:
    """Blanks over their limit, and sieves that ASTM E11 would not allow."""
    blanks = {b.specimen: b for one in record.specimens for b in record.blanks_for(one)}
    for blank in blanks.values():
        if (said := blank_finding(blank.fines_pct)) is not None:
            yield f"blank, specimen {blank.specimen}: {said}"
    of_specimens = (
        sieve
        for one in record.specimens
        for sieve in (one.cut_sieve, one.crush_sieve)
        if sieve is not None
    )
    used = {one.serial: one for one in (*record.sieving.sieves.values(), *of_specimens)}
    for sieve in used.values():
        if not sieve.is_allowed:
            yield (
                f"sieve {sieve.serial}, No. {sieve.sieve}: its mean opening of "
                f"{sieve.opening_mm:.4f} mm is not one that ASTM E11 allows"
            )


def _of_specimen(edition: Edition, one: SpecimenRecord) -> Iterator[str]:
    if abs(one.added.bore_in - STANDARD_BORE_IN) > _SLACK:
        bore = f"{one.added.bore_in:g} in"
        yield f"a cell of {bore} bore, the standard bore is {STANDARD_BORE_IN:g} in"
    run = one.run
    if run is not None:
        rate = edition.ramp.rate_to(run.target_psi)
        if abs(run.rate_psi_min - rate) > _SLACK * rate:
            yield f"ramp planned at {run.rate_psi_min:g} psi/min, not {rate:g}"
        if abs(run.hold_s - edition.hold_s) > _SLACK:
            yield f"hold planned for {run.hold_s:g} s, not {edition.hold_s:g}"
    if one.counts and one.decision is not None:
        yield one.because
    if one.counts:
        yield from (f"counted, but {said}" for said in one.findings)
    if one.shaking is not None and one.shaking.shaken_s < edition.sieve_s:
        yield _shaken(one.shaking.shaken_s, edition.sieve_s)


def _shaken(shaken_s: float, asked_s: float) -> str:
    minutes = number(shaken_s / 60, ".1f")
    return f"shaken for {minutes} min, the edition requires {asked_s / 60:g} min"
