"""The method step by step, as it was done: by, when, with which value, or not recorded."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from ramphold.method.entered import AGGLOMERATES
from ramphold.method.gravimetric import Material
from ramphold.report._format import NOT_RECORDED, date, number, period, together
from ramphold.sample import (
    CUT,
    DENSITY,
    PREPARATION,
    SIEVING,
    BaseRecord,
    MassTaken,
    SampleRecord,
    SpecimenRecord,
    Tick,
    standing,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodStep:
    """A step of the method as it was done.

    Attributes:
        name: what is done.
        by, when: initials and times; empty where nothing is on record.
        value: what was found or done; empty where nothing is on record.
        missing: what of it is not recorded; empty where all is.
    """

    name: str
    by: str = ""
    when: str = ""
    value: str = ""
    missing: str = ""


def method_steps(record: SampleRecord) -> Iterator[MethodStep]:
    """The steps from receipt to pan, in the order in which they are done."""
    held = sorted(standing(record.masses).values(), key=lambda one: one.record)
    for item, name in (
        ("received", "mass as received"),
        ("split", "split portion"),
        ("dried", "washed and dried portion"),
    ):
        yield _weighed(name, held, PREPARATION, item)
    yield _room(record)
    yield _weighed("sieve analysis", held, SIEVING, "charge")
    yield _weighed("bulk density", held, DENSITY, "fill")
    yield _cut_masses(record, held)
    yield from _of_specimens(record)


def _of_specimens(record: SampleRecord) -> Iterator[MethodStep]:
    crushed = [one for one in record.specimens if not one.is_blank]
    yield _of_all("cut between the primary sieves", crushed, _ticked(Tick.CUT), _cut)
    yield _of_all("charge", crushed, lambda one: one.balance.charge_g is not None, _charges)
    under = (Tick.LEVEL, Tick.TURNED, Tick.ZEROED)
    yield _of_all(together(map(str, under)), crushed, _ticked(*under))
    yield _of_all("crush", crushed, lambda one: one.run is not None, _runs)
    yield from _blanks(record)
    yield from _of_resin(record)
    sieved = [one for one in crushed if one.exclusion is None]
    yield _of_all("sieving after the crush", sieved, lambda one: one.shaking is not None, _shaken)


def _blanks(record: SampleRecord) -> Iterator[MethodStep]:
    """The sample's own blanks; that there is none is said of the specimens that lack one."""
    passed = {one.specimen: one.fines_pct for one in record.blanks}
    if passed:
        said = together(
            f"{number(pct, '.2f')} % of specimen {n} passed" for n, pct in passed.items()
        )
        by, when = _done(one.added for one in record.specimens if one.number in passed)
        yield MethodStep(name="blank, not crushed", value=said, by=by, when=when)


def _of_resin(record: SampleRecord) -> Iterator[MethodStep]:
    """What is noted of a proppant with a coat of resin."""
    if record.sample.material is not Material.RESIN_COATED:
        return
    entered = {one.name: one.value for one in record.properties}
    lost = {one.test: one.loss.loss_pct for one in record.gravimetric if one.loss is not None}
    records: dict[str, list[BaseRecord]] = {}
    for value in record.values:
        records.setdefault(value.what, []).append(value)
    for mass in record.masses:
        records.setdefault(mass.test, []).append(mass)
    for name in (AGGLOMERATES, "loss on ignition"):
        if (pct := (entered | lost).get(name)) is None:
            yield MethodStep(name=name, missing=name)
        else:
            by, when = _done(records[name])
            yield MethodStep(name=name, value=f"{number(pct, '.2f')} %", by=by, when=when)


def _ticked(*ticks: Tick) -> Callable[[SpecimenRecord], bool]:
    return lambda one: set(ticks) <= set(one.crush_ticks)


def _done(records: Iterable[BaseRecord]) -> tuple[str, str]:
    """By whom and when."""
    held = list(records)
    times = [one.utc_ns for one in held]
    when = date(times[0]) if len(times) == 1 else period(min(times), max(times))
    return together(dict.fromkeys(one.operator for one in held)), when


def _weighed(name: str, held: Iterable[MassTaken], test: str, item: str) -> MethodStep:
    found = [one for one in held if (one.test, one.item) == (test, item)]
    if not found:
        return MethodStep(name=name, missing=name)
    masses = [one.mass_g for one in found]
    by, when = _done(found)
    net_g = max(masses) - min(masses) if len(masses) > 1 else masses[0]
    return MethodStep(name=name, value=f"{number(net_g, '.2f')} g", by=by, when=when)


def _cut_masses(record: SampleRecord, held: Iterable[MassTaken]) -> MethodStep:
    """What the cut took in and gave, and the charges from it."""
    cut, name = record.cut, "masses of the cut"
    masses = {"sieved": cut.sieved_g, "kept": cut.kept_g, "discarded": cut.discarded_g}
    there = [f"{what} {mass_g:.2f} g" for what, mass_g in masses.items() if mass_g is not None]
    if not there:
        return MethodStep(name=name, missing=name)
    by, when = _done(one for one in held if one.test == CUT)
    left = together((what for what, mass_g in masses.items() if mass_g is None), "")
    if cut.charges_g:
        there.append(f"charges {cut.charges_g:.2f} g in all")
    missing = f"what the cut {left}" if left else ""
    return MethodStep(name=name, value=together(there), by=by, when=when, missing=missing)


def _room(record: SampleRecord) -> MethodStep:
    """Temperature and humidity of the room, as far as they were entered."""
    units = {"room temperature": "°C", "room humidity": "%"}
    newest = {one.what: one for one in record.values if one.what in units and one.value is not None}
    missing = together([name for name in units if name not in newest], "")
    name = "room temperature and humidity"
    if not newest:
        return MethodStep(name=name, missing=missing)
    by, when = _done(newest.values())
    value = together(f"{one.value:g} {units[what]}" for what, one in newest.items())
    return MethodStep(name=name, value=value, by=by, when=when, missing=missing)


def _of_all(
    name: str,
    specimens: Sequence[SpecimenRecord],
    done: Callable[[SpecimenRecord], bool],
    words: Callable[[Sequence[SpecimenRecord]], str] = lambda _: "",
) -> MethodStep:
    """A step of each specimen; those without it are named."""
    there = [one for one in specimens if done(one)]
    if not there:
        return MethodStep(name=name, missing=name)
    left = [str(one.number) for one in specimens if one not in there]
    said = f"{len(there)} of {len(specimens)} specimens"
    more = words(there)
    times = [one.added.utc_ns for one in there]
    return MethodStep(
        name=name,
        value=f"{said}, {more}" if more else said,
        by=together(dict.fromkeys(one.added.operator for one in there)),
        when=period(min(times), max(times)),
        missing=f"{name} of specimens {together(left)}" if left else "",
    )


def _cut(there: Sequence[SpecimenRecord]) -> str:
    return f"sieve {_serials(one.cut_sieve.serial if one.cut_sieve else None for one in there)}"


def _charges(there: Sequence[SpecimenRecord]) -> str:
    masses = [one.balance.charge_g or 0.0 for one in there]
    return f"{number(min(masses), '.3f')} to {number(max(masses), '.3f')} g"


def _shaken(there: Sequence[SpecimenRecord]) -> str:
    times = {round(one.shaking.shaken_s / 60, 1) for one in there if one.shaking}
    minutes = together(f"{one:g}" for one in sorted(times))
    serials = _serials(one.crush_sieve.serial if one.crush_sieve else None for one in there)
    return f"{minutes} min, sieve {serials}"


def _runs(there: Sequence[SpecimenRecord]) -> str:
    runs = [one.run for one in there if one.run]
    rates = together(dict.fromkeys(f"{run.rate_psi_min:g}" for run in runs))
    holds = together(dict.fromkeys(f"{run.hold_s:g}" for run in runs))
    return f"{rates} psi/min, hold {holds} s"


def _serials(found: Iterable[str | None]) -> str:
    return together(dict.fromkeys(serial or NOT_RECORDED for serial in found))
