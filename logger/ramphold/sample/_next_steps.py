"""The next steps of a sample, and of each of its specimens."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from ramphold.method.entered import PROPERTIES
from ramphold.method.gravimetric import TESTS
from ramphold.sample._charge_aim import ChargeAim, charge_aim
from ramphold.sample._sample_record import SampleRecord
from ramphold.sample._sample_records import SieveUse, Tick
from ramphold.sample._sample_state import SampleState
from ramphold.sample._shaker import Shaking
from ramphold.sample._specimen_record import SpecimenRecord
from ramphold.sample._standing_masses import Masses, standing
from ramphold.sample._weighing_places import (
    CRUSH,
    CUT,
    DENSITY,
    FILLS,
    PREPARATION,
    SIEVING,
    Load,
    WeighingPlace,
)


class Step(StrEnum):
    """A kind of step."""

    WEIGH = "weigh"
    CHOOSE_CYLINDER = "choose cylinder"
    CHOOSE_SIEVE = "choose sieve"
    CHOOSE_INSTRUMENT = "choose instrument"
    ENTER = "enter"
    PLAN = "plan a stress"
    ADD_SPECIMEN = "add specimen"
    TICK = "tick"
    CRUSH = "crush"
    AT_PRESS = "at the press"
    DECIDE = "decide"
    LEAVE_OUT = "leave out"
    SHAKE = "shake"
    REVIEW = "review"
    REPORT = "report"


@dataclass(frozen=True, slots=True, kw_only=True)
class NextStep:
    """One step.

    Attributes:
        step: its kind.
        text: the step in words, for the operator.
        specimen: number of the specimen; None for the sample as a whole.
        place: what to weigh.
        tick: what to confirm.
        what: the property to enter, or the test to choose the instrument of.
        sieve_use, sieves: what the sieves to choose are for, and their numbers.
        stress_psi: target of the specimen to add.
        run: the run to decide on.
        shaking: number of the record that put on the shaker what is then weighed, if anything was.
        charge: the target of the charge to weigh, where it is known.
    """

    step: Step
    text: str
    specimen: int | None = None
    place: WeighingPlace | None = None
    tick: Tick | None = None
    what: str | None = None
    sieve_use: SieveUse | None = None
    sieves: tuple[int, ...] = ()
    stress_psi: float | None = None
    run: int | None = None
    shaking: int | None = None
    charge: ChargeAim | None = None


def next_steps(record: SampleRecord, *, at_press: int | None = None) -> tuple[NextStep, ...]:
    """The next step of each unfinished part of a sample, those of its specimens last.

    Args:
        record: the sample.
        at_press: number of the specimen whose run is live.
    """
    held = standing(record.masses)
    found = [step for test in record.asked_tests for step in _of_test(record, held, test)]
    found += [
        step for one in record.specimens for step in _of_specimen(record, held, one, at_press)
    ]
    return tuple(found) or _last_steps(record)


def _of_test(record: SampleRecord, held: Masses, test: str) -> Iterator[NextStep]:
    """The next step of a test as a whole, where it has one."""
    if (choice := _instrument(record, held, test)) is not None:
        yield choice
    elif test == PREPARATION:
        yield from _in_turn(held, test, ("received", "split", "dried"))
    elif test == CUT:
        yield from _in_turn(held, test, ("sieved", "kept", "discarded"))
    elif test == SIEVING:
        yield from _first(_sieving_steps(record, held))
    elif test == DENSITY:
        yield from _first(_density_steps(record, held))
    elif test in TESTS:
        yield from _in_turn(held, test, ("before", "after"))
    elif test in PROPERTIES and test not in {one.name for one in record.properties}:
        yield NextStep(step=Step.ENTER, text=f"enter {test}", what=test)
    elif test == CRUSH:
        yield from _stresses(record)


def _instrument(record: SampleRecord, held: Masses, test: str) -> NextStep | None:
    """Choose the instrument of a test that the bench has one for, before its result is there."""
    done = {place.test for place in held} | {one.name for one in record.properties}
    if test in done or test in record.instruments or not record.bench.instruments(test):
        return None
    text = f"choose the instrument for {test}"
    return NextStep(step=Step.CHOOSE_INSTRUMENT, text=text, what=test)


def _first(steps: Iterator[NextStep | None]) -> Iterator[NextStep]:
    for step in steps:
        if step is not None:
            yield step
            return


def _in_turn(held: Masses, test: str, items: Iterable[str]) -> Iterator[NextStep]:
    return _first(_weigh(held, WeighingPlace(test=test, item=item)) for item in items)


def _weigh(held: Masses, place: WeighingPlace, shaking: Shaking | None = None) -> NextStep | None:
    """Weigh a place, unless that is done; after a tare comes the gross."""
    loads = {load: place.loaded(load) for load in Load}
    if place.load is Load.NET and loads[Load.TARE] in held:
        place = loads[Load.GROSS]
    if place in held or (loads[Load.NET] in held):
        return None
    return NextStep(
        step=Step.WEIGH,
        text=f"weigh {place}",
        specimen=place.specimen,
        place=place,
        shaking=None if shaking is None else shaking.started.record,
    )


def _sieving_steps(record: SampleRecord, held: Masses) -> Iterator[NextStep | None]:
    items = (*map(str, record.size.stack), "pan")
    net, shaking = record.sample.sieves_net, record.sieve_shaking
    yield _stack(record, held)
    if not net:
        for item in items:
            yield _weigh(held, WeighingPlace(test=SIEVING, item=item, load=Load.TARE))
    yield _weigh(held, WeighingPlace(test=SIEVING, item="charge"))
    if shaking is None:
        minutes = record.edition.sieve_s / 60
        yield NextStep(step=Step.SHAKE, text=f"shake the stack for {minutes:g} minutes")
        return
    for item in items:
        load = Load.NET if net else Load.GROSS
        yield _weigh(held, WeighingPlace(test=SIEVING, item=item, load=load), shaking)


def _density_steps(record: SampleRecord, held: Masses) -> Iterator[NextStep | None]:
    if record.density.cylinder is None:
        yield NextStep(step=Step.CHOOSE_CYLINDER, text="choose the density cylinder")
    yield _weigh(held, WeighingPlace(test=DENSITY, item=FILLS[0], load=Load.TARE))
    for item in FILLS[: record.sample.density_fills]:
        yield _weigh(held, WeighingPlace(test=DENSITY, item=item, load=Load.GROSS))


def _stresses(record: SampleRecord) -> Iterator[NextStep]:
    """Each planned stress that lacks a specimen; a stress to plan where there is none."""
    for planned in record.plan:
        there = [
            one
            for one in record.specimens
            if one.added.target_psi == planned.stress_psi
            and one.exclusion is None
            and (one.decision is None or one.decision.counts)
        ]
        if len(there) < planned.replicates:
            yield NextStep(
                step=Step.ADD_SPECIMEN,
                text=f"add {'specimen' if planned.stress_psi else 'blank'} {len(there) + 1} "
                f"of {planned.replicates} at {planned.stress_psi:g} psi",
                stress_psi=planned.stress_psi,
            )
    if not record.plan:
        yield NextStep(step=Step.PLAN, text="plan the first stress")


def _of_specimen(
    record: SampleRecord, held: Masses, one: SpecimenRecord, at_press: int | None
) -> Iterator[NextStep]:
    if one.exclusion is None and (one.decision is None or one.decision.counts):
        yield from _first(_specimen_steps(record, held, one, at_press))


def _specimen_steps(
    record: SampleRecord, held: Masses, one: SpecimenRecord, at_press: int | None
) -> Iterator[NextStep | None]:
    number, run = one.number, one.run
    if one.is_blank:
        yield from _blank_steps(record, held, one)
        return
    if run is None or run.verdict is None:
        for loaded in (earlier for earlier in reversed(one.runs) if earlier.bore_load):
            # Sand that was loaded twice gives too many fines.
            text = f"leave it out: run {loaded.run} was {loaded.state} with its sand under load"
            yield NextStep(step=Step.LEAVE_OUT, text=text, specimen=number, run=loaded.run)
            return
        yield from _cut_sieve(record, one)
        yield _tick(one, Tick.CUT)
        charge = _weigh(held, WeighingPlace(test=CRUSH, item="charge", specimen=number))
        yield charge and replace(charge, charge=charge_aim(record, number))
        if at_press == number:
            yield NextStep(step=Step.AT_PRESS, text="at the press", specimen=number)
        for tick in (Tick.LEVEL, Tick.TURNED, Tick.ZEROED):
            yield _tick(one, tick)
        yield NextStep(step=Step.CRUSH, text="start its run", specimen=number)
        return
    if at_press == number:
        yield NextStep(step=Step.AT_PRESS, text="at the press again", specimen=number)
    if run.verdict != "pass" and one.decision is None:
        text = f"decide whether run {run.run} counts: it failed its assessment"
        yield NextStep(step=Step.DECIDE, text=text, specimen=number, run=run.run)
    yield from _sieve_steps(record, held, one)


def _blank_steps(
    record: SampleRecord, held: Masses, one: SpecimenRecord
) -> Iterator[NextStep | None]:
    yield from _cut_sieve(record, one)
    yield _tick(one, Tick.CUT)
    charge = _weigh(held, WeighingPlace(test=CRUSH, item="charge", specimen=one.number))
    yield charge and replace(charge, charge=charge_aim(record, one.number))
    yield from _sieve_steps(record, held, one)


def _sieve_steps(
    record: SampleRecord, held: Masses, one: SpecimenRecord
) -> Iterator[NextStep | None]:
    """The sieve after the crush, its time on the shaker, and the pan."""
    if one.shaking is None and one.balance.pan_g is None:
        if one.crush_sieve is None:
            yield _sieve(record, one, SieveUse.AFTER_CRUSH)
        minutes = record.edition.sieve_s / 60
        text = f"shake on the sieve for {minutes:g} minutes"
        yield NextStep(step=Step.SHAKE, text=text, specimen=one.number)
    yield from _pan_steps(record, held, one)


def _cut_sieve(record: SampleRecord, one: SpecimenRecord) -> Iterator[NextStep | None]:
    """Choose the sieve of the cut, unless its charge is weighed: that would come too late."""
    if one.cut_sieve is None and not any(mass.item == "charge" for mass in one.masses):
        yield _sieve(record, one, SieveUse.CUT)


def _sieve(record: SampleRecord, one: SpecimenRecord, use: SieveUse) -> NextStep | None:
    """Choose the sieve for a use, where the bench has one of the finer number in use."""
    if not record.sieves_for(use):
        return None
    fine = record.size.fine
    return NextStep(
        step=Step.CHOOSE_SIEVE,
        text=f"choose the No. {fine} sieve {use.which}",
        specimen=one.number,
        sieve_use=use,
        sieves=(fine,),
    )


def _stack(record: SampleRecord, held: Masses) -> NextStep | None:
    """Choose the sieves of the stack that the bench has in use and that nobody weighed yet."""
    weighed = {place.item for place in held if place.test == SIEVING}
    there = {one.sieve for one in record.sieves_for(SieveUse.STACK)}
    numbers = tuple(
        number
        for number in record.size.stack
        if number in there and number not in record.sieving.sieves and str(number) not in weighed
    )
    if not numbers:
        return None
    named = ", ".join(map(str, numbers))
    return NextStep(
        step=Step.CHOOSE_SIEVE,
        text=f"choose the sieves of the stack: No. {named}",
        sieve_use=SieveUse.STACK,
        sieves=numbers,
    )


def _pan_steps(
    record: SampleRecord, held: Masses, one: SpecimenRecord
) -> Iterator[NextStep | None]:
    yield _weigh(held, WeighingPlace(test=CRUSH, item="pan", load=Load.TARE, specimen=one.number))
    shaking = one.shaking
    yield _weigh(
        held, WeighingPlace(test=CRUSH, item="pan", load=Load.GROSS, specimen=one.number), shaking
    )
    if record.sample.mass_balance:
        yield _weigh(held, WeighingPlace(test=CRUSH, item="retained", specimen=one.number), shaking)


def _tick(one: SpecimenRecord, tick: Tick) -> NextStep | None:
    if tick in one.ticks:
        return None
    return NextStep(step=Step.TICK, text=f"tick off: {tick}", specimen=one.number, tick=tick)


def _last_steps(record: SampleRecord) -> tuple[NextStep, ...]:
    """The steps after every test is done."""
    if record.state is SampleState.REPORTED:
        return ()
    if record.state is SampleState.REVIEWED:
        return (NextStep(step=Step.REPORT, text="issue the report"),)
    text = "have it reviewed by somebody who recorded nothing of it"
    return (NextStep(step=Step.REVIEW, text=text),)
