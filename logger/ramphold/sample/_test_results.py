"""The results before the crush: preparation, sieving, density and the other tests."""

import contextlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean

from ramphold.errors import InputError
from ramphold.method.density import bulk_density_g_cm3
from ramphold.method.entered import Entered, judge_entered, mean_entered, mean_shape
from ramphold.method.gravimetric import TESTS, Loss, measure
from ramphold.method.limits import ResultLimit
from ramphold.method.sieves import PAN, read_sieve
from ramphold.method.sieving import SieveAnalysis, analyse
from ramphold.sample._sample_edition import edition_of
from ramphold.sample._sample_records import (
    CylinderChosen,
    MassTaken,
    SampleReceived,
    SieveChosen,
    SieveUse,
    ValueEntered,
)
from ramphold.sample._standing_masses import Masses, net_g
from ramphold.sample._weighing_places import (
    DENSITY,
    FILLS,
    PREPARATION,
    SIEVING,
    Load,
    WeighingPlace,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Preparation:
    """Masses in g on the way to the test portion, and the wash loss in % of the split mass."""

    received_g: float | None
    split_g: float | None
    washed_g: float | None
    dried_g: float | None
    wash_loss_pct: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sieving:
    """The sieve analysis.

    Attributes:
        charge_g: mass on the stack in g.
        masses_g: net mass in g by sieve number, 0 for the pan.
        missing: sieves of the stack, and `pan`, that are not weighed yet.
        sieves: which sieve was used, by number; those that nobody chose in time are missing.
        analysis: the result; None until all is weighed, or where the masses can't be right.
    """

    charge_g: float | None
    masses_g: Mapping[int, float]
    missing: tuple[str, ...]
    sieves: Mapping[int, SieveChosen]
    analysis: SieveAnalysis | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Density:
    """Loose bulk density, the mean of one fill of the cylinder or of several.

    Attributes:
        cylinder: which one; None until it is chosen.
        fills_g: net mass of each fill in g.
        determinations_g_cm3: the density by each fill in g/cm3.
        bulk_density_g_cm3: their mean; None until it is known.
    """

    cylinder: CylinderChosen | None
    fills_g: tuple[float, ...]
    determinations_g_cm3: tuple[float, ...]
    bulk_density_g_cm3: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Gravimetric:
    """A test by mass before and after, in g; `loss` is None until both are known."""

    test: str
    before_g: float | None
    after_g: float | None
    loss: Loss | None


def preparation(masses: Masses) -> Preparation:
    """Masses of the preparation."""
    split, dried = net_g(masses, PREPARATION, "split"), net_g(masses, PREPARATION, "dried")
    wash_loss_pct = None
    if split and dried is not None:
        wash_loss_pct = 100 * (split - dried) / split
    return Preparation(
        received_g=net_g(masses, PREPARATION, "received"),
        split_g=split,
        washed_g=net_g(masses, PREPARATION, "washed"),
        dried_g=dried,
        wash_loss_pct=wash_loss_pct,
    )


def sieving(sample: SampleReceived, masses: Masses, chosen: Mapping[int, SieveChosen]) -> Sieving:
    """The sieve analysis as far as it is weighed, and which sieve was used by number."""
    size, charge_g = edition_of(sample).size(sample.size), net_g(masses, SIEVING, "charge")
    items = {place.item for place in masses if place.test == SIEVING} - {"charge"}
    found = {read_sieve(item): net_g(masses, SIEVING, item) for item in items}
    masses_g = {sieve: mass for sieve, mass in sorted(found.items()) if mass is not None}
    missing = tuple(
        "pan" if sieve == PAN else str(sieve)
        for sieve in (*size.stack, PAN)
        if sieve not in masses_g
    )
    analysis = None
    if charge_g is not None and not missing and len(masses_g) == len(found):
        allowed = edition_of(sample).sieving[sample.use]
        try:
            analysis = analyse(masses_g, size, charge_g=charge_g, allowed=allowed)
        except InputError:
            analysis = None  # the masses can't be right until one of them is corrected
    return Sieving(
        charge_g=charge_g, masses_g=masses_g, missing=missing, sieves=chosen, analysis=analysis
    )


def stack_sieves(
    masses: Iterable[MassTaken], chosen: Iterable[SieveChosen]
) -> dict[int, SieveChosen]:
    """The sieve of the analysis by number: the newest chosen before the first mass of it.

    Args:
        masses: every mass of the sample in order, corrected ones too.
        chosen: every choice of a sieve in order.
    """
    first: dict[str, int] = {}
    for one in masses:
        if one.test == SIEVING:
            first.setdefault(one.item, one.record)
    return {
        one.sieve: one
        for one in chosen
        if one.use is SieveUse.STACK and one.record < first.get(str(one.sieve), one.record + 1)
    }


def density(masses: Masses, chosen: CylinderChosen | None) -> Density:
    """Loose bulk density, as far as it is weighed."""
    fills_g = tuple(_fills_g(masses))
    found: tuple[float, ...] = ()
    if chosen is not None:
        found = tuple(bulk_density_g_cm3(one, chosen.volume_cm3) for one in fills_g if one > 0)
    return Density(
        cylinder=chosen,
        fills_g=fills_g,
        determinations_g_cm3=found,
        bulk_density_g_cm3=fmean(found) if found else None,
    )


def _fills_g(masses: Masses) -> Iterator[float]:
    """The net mass of each fill; the empty cylinder of the first holds for the others too."""
    empty = masses.get(WeighingPlace(test=DENSITY, item=FILLS[0], load=Load.TARE))
    for item in FILLS:
        fill_g = net_g(masses, DENSITY, item)
        full = masses.get(WeighingPlace(test=DENSITY, item=item, load=Load.GROSS))
        if fill_g is None and full is not None and empty is not None:
            fill_g = full.mass_g - empty.mass_g
        if fill_g is not None:
            yield fill_g


def gravimetric(sample: SampleReceived, masses: Masses) -> tuple[Gravimetric, ...]:
    """Each test by mass before and after that is requested or begun."""
    begun = {place.test for place in masses}
    return tuple(
        _gravimetric(sample, masses, name)
        for name in TESTS
        if name in sample.tests or name in begun
    )


def properties(sample: SampleReceived, entered: Iterable[ValueEntered]) -> tuple[Entered, ...]:
    """The standing value of each property; none where an older version kept one that can't be."""
    values = tuple(entered)
    corrected = {value.corrects for value in values}
    found: list[Entered] = []
    for value in values:
        if value.record not in corrected:
            with contextlib.suppress(InputError):
                found.append(_property(sample, value))
    return tuple(found)


def check_value(sample: SampleReceived, value: ValueEntered) -> None:
    """Check that a property may have an entered value.

    Raises:
        InputError: there is no such property, it can't have that value, or the record has not one
            of value, determinations and counts.
    """
    given = (value.value is not None, bool(value.values), bool(value.counts))
    if given.count(True) != 1 or len(value.values) == 1:
        raise InputError(
            f"{value.what}: expected a value, two or more determinations, or the counts of grains"
        )
    _property(sample, value)


def _gravimetric(sample: SampleReceived, masses: Masses, name: str) -> Gravimetric:
    before, after = net_g(masses, name, "before"), net_g(masses, name, "after")
    loss = None
    if before is not None and after is not None:
        try:
            loss = measure(TESTS[name], before, after, _limit(sample, name))
        except InputError:
            loss = None
    return Gravimetric(test=name, before_g=before, after_g=after, loss=loss)


def _property(sample: SampleReceived, value: ValueEntered) -> Entered:
    limit = _limit(sample, value.what)
    if value.values:
        return mean_entered(value.what, value.values, limit)
    if value.value is None:
        return mean_shape(value.what, _by_shape(value.counts), limit)
    return judge_entered(value.what, value.value, limit)


def _limit(sample: SampleReceived, test: str) -> ResultLimit | None:
    return edition_of(sample).limit_of(test, sample.material, sample.size)


def _by_shape(counts: Sequence[tuple[float, int]]) -> dict[float, int]:
    grains: dict[float, int] = {}
    for shape, count in counts:
        grains[shape] = grains.get(shape, 0) + count
    return grains
