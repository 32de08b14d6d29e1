"""What is read from the store when it is asked for.

Each function serves one method, in the store's thread, at a time in ns UTC.
"""

from msgspec import structs

from ramphold.control.act import NoParams, PageParams
from ramphold.control.bench_methods import ControlChartParams, ControlSeries
from ramphold.control.run_methods import RunEvent
from ramphold.control.run_queries import RunDetail, RunParams, Runs
from ramphold.control.sample_methods import (
    NextStress,
    SampleLine,
    SampleParams,
    Samples,
    SampleSheet,
)
from ramphold.method import control_chart as charts
from ramphold.method.sequential import Search, next_test
from ramphold.sample import BenchRecord, SampleRecord, control_days, next_steps
from ramphold.store import Store

_LEAST_DAYS = 2


def runs(store: Store, page: PageParams, _utc_ns: int) -> Runs:
    """Runs, newest first."""
    return Runs(runs=tuple(store.runs.page(page.before, page.limit)))


def run(store: Store, params: RunParams, _utc_ns: int) -> RunDetail:
    """One run with its specimen and its events.

    Raises:
        InputError: there is no such run.
    """
    found, events = store.runs.one(params.run), store.runs.events(params.run)
    return RunDetail(
        run=found,
        specimen=store.specimens.one(found.specimen),
        events=tuple(RunEvent.of(found.id, seq, event) for seq, event in enumerate(events)),
    )


def samples(store: Store, page: PageParams, _utc_ns: int) -> Samples:
    """Samples, newest first."""
    found = store.samples.page(page.before, page.limit)
    return Samples(samples=tuple(SampleLine(sample=one, state=state) for one, state in found))


def sample(store: Store, params: SampleParams, _utc_ns: int) -> SampleSheet:
    """A whole sample, and its next steps.

    Raises:
        InputError: there is no such sample.
    """
    record = store.samples.record(store.samples.number(params.sample))
    live = store.runs.live()
    steps = next_steps(record, at_press=live.specimen if live else None)
    return SampleSheet(record=record, next=steps)


def next_stress(store: Store, params: SampleParams, _utc_ns: int) -> NextStress:
    """The stress that says most about the class, from what counts so far.

    Raises:
        InputError: there is no such sample.
    """
    record = store.samples.record(store.samples.number(params.sample))
    evidence, edition = record.evidence, record.edition
    if edition.class_fines_pct is None:
        return _suggested_stress(record)
    search = Search(replicates=edition.replicates, limit_pct=edition.class_fines_pct)
    found = next_test(
        record.counted,
        search,
        laboratory=record.bench.laboratory,
        sieves=record.sieve_pair(search.limit_pct),
    )
    name = None if evidence is None else evidence.found.crush_class
    probability = record.class_probability
    done = "the class is decided"
    if probability is not None and probability < search.confidence:
        done = (
            "more specimens would tell no more, the openings of the sieves would: weigh a blank "
            "(plan 0 psi), or choose sieves whose openings are measured"
        )
    return NextStress(
        stress_psi=None if found is None else found.stress_psi,
        specimens=0 if found is None else found.specimens,
        reason=done if found is None else found.reason,
        crush_class=name,
        probability=probability,
    )


def _suggested_stress(record: SampleRecord) -> NextStress:
    """What an edition without classes asks for: specimens at the stress for the size."""
    name, limit = record.edition.name, record.suggested
    missing, reason = 0, f"{name} suggests no stress for {record.sample.size}"
    if limit is not None:
        crushed = sum(stress_psi == limit.stress_psi for stress_psi, _ in record.counted)
        missing = max(record.edition.replicates - crushed, 0)
        reason = f"{name} has no classes, and suggests one stress for {record.sample.size}"
    return NextStress(
        stress_psi=limit.stress_psi if limit is not None and missing else None,
        specimens=missing,
        reason=reason,
        crush_class=None,
        probability=None,
    )


def bench_record(store: Store, _: NoParams, _utc_ns: int) -> BenchRecord:
    """Certificates, checks, cylinders, wear, and the laboratory's own spread."""
    return store.bench.record()


def control_chart(store: Store, params: ControlChartParams, _utc_ns: int) -> ControlSeries:
    """The control sand's fines at a stress, for the press, cell and so on asked for."""
    wanted = structs.asdict(params)
    points = tuple(
        point
        for point in store.bench.control_points()
        if all(value in (None, getattr(point, name)) for name, value in wanted.items())
    )
    days = control_days(points)
    means = [day.mean_pct for day in days]
    base = charts.chart(means) if len(means) >= _LEAST_DAYS else None
    judged = () if base is None else charts.judged(base, means)
    return ControlSeries(points=points, days=days, chart=base, judged=judged)
