"""A sample as text: what it is, its results, and the next steps."""

from collections.abc import Iterator

from ramphold.keys.person_signature import signer_text
from ramphold.method.entered import PROPERTIES
from ramphold.sample import NextStep, SampleRecord, SignedRecord, SpecimenRecord

_WORDS = {True: "yes", False: "NO", None: "-"}


def sample_lines(record: SampleRecord, steps: tuple[NextStep, ...]) -> Iterator[str]:
    """A whole sample."""
    one = record.sample
    yield (
        f"sample {one.laboratory_number} (no. {one.sample}), {one.size} {one.material}, "
        f"{one.edition}, {record.state}"
    )
    yield f"client   {one.client_reference}"
    yield from _results(record)
    if record.specimens:
        yield ""
        yield f"{'no.':>5}  {'specimen':<10} {'psi':>6} {'charge g':>9} {'fines %':>8}  counts"
        for specimen in record.specimens:
            yield _specimen_line(specimen)
            yield from (f"{'':>43}! {finding}" for finding in specimen.findings)
    yield from _answered_for(record)
    yield ""
    yield "next" if steps else "nothing is left to do"
    for step in steps:
        yield f"  {step_line(step)}"


def _answered_for(record: SampleRecord) -> Iterator[str]:
    """Who decided, reviewed and issued, in full where a key of their own signed it."""
    said: list[tuple[SignedRecord, str]] = [
        (one, f"run {one.run} {one.words}: {one.reason}") for one in record.decisions
    ]
    said += [(one, "reviewed") for one in record.reviews]
    said += [(one, f"report, revision {one.revision}") for one in record.reports]
    if said:
        yield ""
    for one, what in sorted(said, key=lambda pair: pair[0].record):
        yield f"{what}, by {signer_text(one.operator, one.signed)}"


def step_line(step: NextStep) -> str:
    """One thing to do."""
    whose = "" if step.specimen is None else f"specimen {step.specimen}: "
    return f"{whose}{step.text}"


def _results(record: SampleRecord) -> Iterator[str]:
    washed = record.preparation.wash_loss_pct
    if washed is not None:
        yield f"washing  {washed:.2f} % lost"
    sieving = record.sieving.analysis
    if sieving is not None:
        yield f"sieving  {sieving.in_size_pct:.2f} % in size, conforms: {_WORDS[sieving.conforms]}"
        yield from (f"{'':>9}! {finding}" for finding in sieving.findings)
    if record.cut.left_g is not None:
        yield f"cut      {record.cut.kept_g:.2f} g kept, {record.cut.left_g:.2f} g left for charges"
        yield from (f"{'':>9}! {said}" for said in record.cut.contradictions)
    density = record.density.bulk_density_g_cm3
    if density is not None:
        yield f"density  {density:.3f} g/cm3"
    for test in record.gravimetric:
        if test.loss is not None:
            kept = _WORDS[test.loss.passes]
            yield f"{test.test}  {test.loss.loss_pct:.2f} %, within limits: {kept}"
    for value in record.properties:
        measured = f"{value.value:g} {PROPERTIES[value.name].unit}".strip()
        yield f"{value.name}  {measured}, within limits: {_WORDS[value.passes]}"
    evidence = record.evidence
    if evidence is not None:
        yield f"class    {evidence.found.crush_class or 'none'}"
        findings = (*evidence.found.findings, *evidence.findings)
        yield from (f"{'':>9}! {finding}" for finding in findings)


def _specimen_line(one: SpecimenRecord) -> str:
    charge = "-" if one.balance.charge_g is None else f"{one.balance.charge_g:.3f}"
    fines = "-" if one.fines_pct is None else f"{one.fines_pct:.2f}"
    counts = "yes" if one.counts else "no"
    return (
        f"{one.number:>5}  {one.added.label:<10} {one.added.target_psi:>6.0f} {charge:>9} "
        f"{fines:>8}  {counts}: {one.because}"
    )
