"""What is said of a sample as a whole: that it came in, what was wrong, which stresses, what next.

Each function serves one method, in the store's thread, at a time in ns UTC.
"""

from msgspec import structs

from ramphold.control import sample_methods as methods
from ramphold.control.methods import NewSpecimen
from ramphold.core import RunPlan
from ramphold.daemon.config import BenchConfig
from ramphold.errors import InputError
from ramphold.method.sequential import Search, next_test
from ramphold.sample import (
    SampleCorrected,
    SampleReceived,
    SampleRecord,
    SpecimenAdded,
    StressPlanned,
    check_sample,
    corrected,
    next_steps,
)
from ramphold.store import Store

__all__ = ["add_specimen", "correct", "next_stress", "plan_stress", "receive", "samples", "sheet"]

_CORRECTABLE = SampleCorrected.__annotations__["field"].__args__


def receive(
    config: BenchConfig, store: Store, wanted: methods.NewSample, utc_ns: int
) -> SampleReceived:
    """Receive a sample; what is left out is as the bench's configuration has it.

    Raises:
        CommandRefused: its laboratory number is taken.
        InputError: it can't be tested as it says.
    """
    sheet = config.worksheet
    received = SampleReceived(
        operator=wanted.operator,
        utc_ns=utc_ns,
        laboratory_number=wanted.laboratory_number.strip(),
        client_reference=wanted.client_reference,
        material=wanted.material,
        size=wanted.size,
        edition=wanted.edition or sheet.edition,
        use=wanted.use or sheet.use,
        role=wanted.role,
        tests=sheet.tests if wanted.tests is None else wanted.tests,
        remarks=wanted.remarks,
        charge_tolerance_g=wanted.charge_tolerance_g or sheet.charge_tolerance_g,
        sieves_net=wanted.sieves_net,
        mass_balance=wanted.mass_balance,
    )
    check_sample(received)
    return store.samples.add(received)


def samples(store: Store, page: methods.PageOfSamples, utc_ns: int) -> methods.Samples:
    """Samples, newest first."""
    del utc_ns
    return methods.Samples(
        samples=tuple(
            methods.SampleLine(sample=sample, state=state)
            for sample, state in store.samples.page(page.before, page.limit)
        )
    )


def sheet(store: Store, wanted: methods.SampleWanted, utc_ns: int) -> methods.SampleSheet:
    """A whole sample, and what is next.

    Raises:
        InputError: there is no such sample.
    """
    del utc_ns
    record, live = store.samples.record(store.samples.number(wanted.sample)), store.runs.live()
    steps = next_steps(record, at_press=live.specimen if live else None)
    return methods.SampleSheet(record=record, next=steps)


def correct(store: Store, wanted: methods.CorrectSample, utc_ns: int) -> SampleCorrected:
    """Right a statement about a sample.

    Raises:
        InputError: no such sample or field, or a value that it can't have.
    """
    sample = store.samples.number(wanted.sample)
    if wanted.field not in _CORRECTABLE:
        raise InputError(
            f"{wanted.field!r} can't be corrected: expected one of {', '.join(_CORRECTABLE)}; "
            "a wrong laboratory number needs a new sample"
        )
    change = SampleCorrected(
        sample=sample,
        operator=wanted.operator,
        utc_ns=utc_ns,
        field=wanted.field,  # type: ignore[arg-type]
        value=wanted.value,
        reason=wanted.reason,
    )
    check_sample(corrected(store.samples.record(sample).sample, [change]))
    return store.records.append(change)


def plan_stress(
    config: BenchConfig, store: Store, wanted: methods.PlanStress, utc_ns: int
) -> StressPlanned:
    """Plan specimens at a stress that the bench can reach.

    Raises:
        InputError: no such sample, or a stress that is too low or over the rating.
    """
    name, rating_lbf = config.weakest
    RunPlan(
        target_psi=wanted.stress_psi,
        bore_in=config.cell.bore,
        rating_lbf=rating_lbf,
        rating_name=name,
    )
    return store.records.append(
        StressPlanned(
            sample=store.samples.number(wanted.sample),
            operator=wanted.operator,
            utc_ns=utc_ns,
            stress_psi=wanted.stress_psi,
            replicates=wanted.replicates,
        )
    )


def add_specimen(
    config: BenchConfig, store: Store, wanted: NewSpecimen, utc_ns: int
) -> SpecimenAdded:
    """Record a specimen, of a sample or of the bench.

    Raises:
        InputError: there is no such sample.
    """
    given = structs.asdict(wanted)
    if wanted.sample is not None:
        given["sample"] = store.samples.number(wanted.sample)
    return store.specimens.add(SpecimenAdded(**given, utc_ns=utc_ns, press=config.bench))


def next_stress(store: Store, wanted: methods.SampleWanted, utc_ns: int) -> methods.NextStress:
    """The stress that tells most about the class, by what counts so far.

    Raises:
        InputError: there is no such sample.
    """
    del utc_ns
    record = store.samples.record(store.samples.number(wanted.sample), spread=True)
    evidence, edition = record.evidence, record.edition
    if edition.class_fines_pct is None:
        return _suggested(record)
    search = Search(replicates=edition.replicates, limit_pct=edition.class_fines_pct)
    found = next_test(record.counted, search, laboratory=record.bench.laboratory)
    name = None if evidence is None else evidence.found.crush_class
    known = evidence is not None and evidence.spread is not None
    return methods.NextStress(
        stress_psi=None if found is None else found.stress_psi,
        specimens=0 if found is None else found.specimens,
        reason="the class is decided" if found is None else found.reason,
        crush_class=name,
        probability=evidence.probability(name) if evidence is not None and known else None,
    )


def _suggested(record: SampleRecord) -> methods.NextStress:
    """What an edition without classes asks for: specimens at the stress for the size."""
    name, limit = record.edition.name, record.suggested
    lacking, said = 0, f"{name} suggests no stress for {record.sample.size}"
    if limit is not None:
        there = sum(stress_psi == limit.stress_psi for stress_psi, _ in record.counted)
        lacking = max(record.edition.replicates - there, 0)
        said = f"{name} has no classes, and suggests one stress for {record.sample.size}"
    return methods.NextStress(
        stress_psi=limit.stress_psi if limit is not None and lacking else None,
        specimens=lacking,
        reason=said,
        crush_class=None,
        probability=None,
    )
