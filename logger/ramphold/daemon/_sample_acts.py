"""Acts on samples and specimens whose record holds more than their parameters.

Each function serves one act, in the store's thread, at a time in ns UTC. Errors of `keep` apart, it
raises what its docstring says.
"""

from msgspec import structs

from ramphold.control.choice_methods import (
    CHOOSE_CYLINDER,
    CHOOSE_INSTRUMENT,
    CHOOSE_SIEVE,
    ChooseCylinderParams,
    ChooseInstrumentParams,
    ChooseSieveParams,
)
from ramphold.control.sample_methods import (
    ADD_SAMPLE,
    ISSUE_REPORT,
    PLAN_STRESS,
    REVIEW_SAMPLE,
    AddSampleParams,
    IssueReportParams,
    PlanStressParams,
    ReviewSampleParams,
)
from ramphold.control.specimen_methods import (
    ADD_SPECIMEN,
    DECIDE_RUN,
    TICK,
    AddSpecimenParams,
    DecideRunParams,
    TickParams,
)
from ramphold.core import RunPlan
from ramphold.daemon._ledger import keep
from ramphold.daemon.bench_edition import is_own_file, own_edition
from ramphold.daemon.config import BenchConfig
from ramphold.errors import CommandRefused, InputError
from ramphold.keys.person_key import OpenedKey
from ramphold.method.daily_check import LOAD_ZERO, CheckVerdict
from ramphold.sample import (
    CylinderChosen,
    DailyCheckMade,
    InstrumentChosen,
    ReportIssued,
    Reviewed,
    RunDecided,
    RunFinished,
    SampleReceived,
    SieveChosen,
    SieveUse,
    SpecimenAdded,
    StressPlanned,
    Tick,
    Ticked,
)
from ramphold.store import Store

# A shift; common practice, no source.
_ZERO_LASTS_H = 12
_BORE_SLACK = 0.01  # wear
_NS_PER_H = 3600 * 10**9


def add_sample(
    config: BenchConfig, store: Store, params: AddSampleParams, utc_ns: int
) -> SampleReceived:
    """Receive a sample; what is left out comes from the bench's configuration.

    Raises:
        CommandRefused: its laboratory number is taken.
        ConfigError: the laboratory's own file of the edition can't be read.
    """
    defaults = structs.asdict(config.worksheet)
    own_text = ""
    if is_own_file(config.worksheet.edition):
        edition, own_text = own_edition(config.worksheet.edition)
        defaults["edition"] = edition.name
    own = own_text if params.edition in {None, defaults["edition"]} else ""
    left_out = {name: value for name, value in defaults.items() if getattr(params, name) is None}
    number = params.laboratory_number.strip()
    return keep(
        store,
        ADD_SAMPLE,
        params,
        utc_ns,
        laboratory_number=number,
        edition_file=own,
        **left_out,
    )


def plan_stress(
    config: BenchConfig, store: Store, params: PlanStressParams, utc_ns: int
) -> StressPlanned:
    """Plan specimens at a stress that the bench can reach, or blanks at none.

    Raises:
        PlanError: the stress is too low, or over the rating.
    """
    name, rating_lbf = config.weakest
    if params.stress_psi:
        RunPlan(
            target_psi=params.stress_psi,
            bore_in=config.cell.bore,
            rating_lbf=rating_lbf,
            rating_name=name,
        )
    return keep(store, PLAN_STRESS, params, utc_ns)


def choose_cylinder(store: Store, params: ChooseCylinderParams, utc_ns: int) -> CylinderChosen:
    """Measure a sample's bulk density with a cylinder.

    Raises:
        InputError: no such cylinder was calibrated.
    """
    cylinders = store.bench.record().cylinders
    found = next((one for one in cylinders if one.cylinder == params.cylinder), None)
    if found is None:
        known = ", ".join(one.cylinder for one in cylinders) or "none yet"
        raise InputError(f"cylinder {params.cylinder!r} was never calibrated: there is {known}")
    return keep(
        store,
        CHOOSE_CYLINDER,
        params,
        utc_ns,
        volume_cm3=found.volume_cm3,
        calibration=found.record,
    )


def choose_sieve(store: Store, params: ChooseSieveParams, utc_ns: int) -> SieveChosen:
    """Cut, analyse or sieve a sample after the crush on a sieve of the bench from now on.

    Raises:
        InputError: the bench has no such sieve in use: of the finer number of the sample's size,
            or for the sieve analysis of a number of its stack.
    """
    record = store.samples.record(store.samples.number(params.sample))
    size, there = record.size, record.sieves_for(params.use)
    found = next((one for one in there if one.name == params.serial), None)
    if found is None:
        known = ", ".join(one.name for one in there) or "none: `ramphold bench equipment sieve`"
        stack = params.use is SieveUse.STACK
        wanted = f"the stack for {size.name}" if stack else f"No. {size.fine}"
        raise InputError(f"no sieve {params.serial!r} of {wanted} is in use: there is {known}")
    return keep(
        store,
        CHOOSE_SIEVE,
        params,
        utc_ns,
        sieve=found.sieve,
        check=found.record,
        opening_mm=found.measured,
        opening_u_mm=found.measured_u,
    )


def choose_instrument(
    store: Store, params: ChooseInstrumentParams, utc_ns: int
) -> InstrumentChosen:
    """Do a test of a sample with an instrument of the bench from now on.

    Raises:
        InputError: the bench has no such instrument in use for that test.
    """
    there = store.bench.record().instruments(params.test)
    found = next((one for one in there if one.name == params.instrument), None)
    if found is None:
        known = ", ".join(one.name for one in there)
        known = known or "none: `ramphold bench equipment instrument`"
        raise InputError(
            f"no instrument {params.instrument!r} for {params.test!r} is in use: there is {known}"
        )
    return keep(
        store,
        CHOOSE_INSTRUMENT,
        params,
        utc_ns,
        check=found.record,
        certificate=found.certificate,
    )


def add_specimen(
    config: BenchConfig, store: Store, params: AddSpecimenParams, utc_ns: int
) -> SpecimenAdded:
    """Add a specimen, of a sample or of none, to be crushed on this press.

    Raises:
        CommandRefused: its bore is not that of the bench's cell, whose rating would not hold.
    """
    bore_in = config.cell.bore
    if abs(params.bore_in - bore_in) > _BORE_SLACK * bore_in:
        raise CommandRefused(
            f"a bore of {params.bore_in:g} in, and the bench's cell has {bore_in:g} in: expected "
            "that, or the new cell's bore and rating under [cell] in bench.toml"
        )
    return keep(store, ADD_SPECIMEN, params, utc_ns, press=config.bench)


def tick(store: Store, params: TickParams, utc_ns: int) -> Ticked:
    """Tick a step before the press; a zeroed load rests on the zero that was read.

    Raises:
        CommandRefused: no zero was read since the last run ended, or it is too old.
    """
    zero = None
    if params.done and params.what is Tick.ZEROED:
        zero = _zero_since_the_last_run(store, utc_ns)
    return keep(store, TICK, params, utc_ns, zero=zero)


def _zero_since_the_last_run(store: Store, utc_ns: int) -> int:
    """The record of the newest zero that was read and is in force."""
    read = [
        one.record
        for one in store.records.of_kind(DailyCheckMade)
        if one.rule == LOAD_ZERO.name
        and one.off_lbf is not None  # a typed one was read by nobody
        and one.verdict != CheckVerdict.FAILED
        and utc_ns - one.utc_ns <= _ZERO_LASTS_H * _NS_PER_H
    ]
    if not read or store.records.select(RunFinished, "id > ?", read[-1]):
        raise CommandRefused(
            f"no zero of the load was read since the last run, in the last {_ZERO_LASTS_H} h: "
            "take one with nothing on the cell, then tick it"
        )
    return read[-1]


def decide_run(
    store: Store, params: DecideRunParams, utc_ns: int, signer: OpenedKey | None
) -> RunDecided:
    """Decide whether a run counts, whatever its assessment says.

    Raises:
        InputError: there is no such run.
    """
    specimen = store.runs.one(params.run).specimen
    sample = store.specimens.one(specimen).sample
    return keep(store, DECIDE_RUN, params, utc_ns, signer=signer, specimen=specimen, sample=sample)


def review_sample(
    store: Store, params: ReviewSampleParams, utc_ns: int, signer: OpenedKey | None
) -> Reviewed:
    """Record that a sample was reviewed by someone who wrote none of its records.

    Raises:
        CommandRefused: something was recorded since the reviewer looked.
    """
    newest = store.records.chain(store.samples.number(params.sample)).newest
    if params.seen is not None and params.seen != newest:
        raise CommandRefused(
            f"record {newest} of this sample came since record {params.seen}: look at it first"
        )
    return keep(store, REVIEW_SAMPLE, params, utc_ns, signer=signer)


def issue_report(
    store: Store, params: IssueReportParams, utc_ns: int, signer: OpenedKey | None
) -> ReportIssued:
    """Record that a report goes out, as the next revision."""
    reports = store.records.of_kind(ReportIssued, store.samples.number(params.sample))
    return keep(store, ISSUE_REPORT, params, utc_ns, signer=signer, revision=len(reports) + 1)
