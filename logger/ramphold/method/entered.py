"""Results that a person enters: turbidity, clusters, and grain shape from the chart."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ramphold.errors import InputError
from ramphold.method.limits import ResultLimit
from ramphold.method.lookup import find

#: Fewest grains for a mean sphericity or roundness: ISO 13503-2:2006 7, from memory.
LEAST_GRAINS = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Property:
    """A property that is entered; its limits are those of an edition.

    Attributes:
        name: what it is.
        most: no value is greater, so a greater one is a slip.
        unit: its unit; empty for a plain number.
        by_grains: whether it is a mean over grains that were compared with the chart.
        of_room: whether it is a condition of the tests and no result of the item.
    """

    name: str
    most: float
    unit: str = ""
    by_grains: bool = False
    of_room: bool = False


#: The tests whose result a measuring instrument or a furnace or bath with its thermometer gives.
INSTRUMENT_TESTS = (
    "turbidity", "apparent density", "acid solubility", "loss on ignition", "moisture",
)  # fmt: skip

#: What is noted of every resin-coated proppant: grains that leave the cell stuck together, in % of
#: the charge; 0 where there are none. From memory, ISO 13503-2:2006 clause 11.
AGGLOMERATES = "agglomerates"

#: Every property by its name. A shape is at most 1 and a share 100 % by what they are; what else
#: is the most is ours, beyond any meter, proppant or room.
PROPERTIES = {
    each.name: each
    for each in (
        Property(name="turbidity", most=10_000, unit="NTU"),
        Property(name="sphericity", most=1, by_grains=True),
        Property(name="roundness", most=1, by_grains=True),
        # Of the grains without the air between them; by common practice it has no limit.
        Property(name="apparent density", most=10, unit="g/cm3"),
        # Of the room during the tests.
        Property(name="room temperature", most=60, unit="C", of_room=True),
        Property(name="room humidity", most=100, unit="%", of_room=True),
        Property(name="clusters", most=100, unit="%"),
        # Of a resin that cures under load: what comes out of the cell stuck together.
        Property(name=AGGLOMERATES, most=100, unit="%"),
    )
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Entered:
    """A property's value, its limit, and what weakens it.

    Attributes:
        name: of the property.
        value: in its unit.
        limit: that of the edition; None if there is none.
        passes: whether the value is within the limit; None if there is no limit.
        findings: such as too few grains.
        determinations: those that it is the mean of, a value a grain for a shape; empty for one
            value alone.
    """

    name: str
    value: float
    limit: ResultLimit | None
    passes: bool | None
    findings: tuple[str, ...]
    determinations: tuple[float, ...] = ()


def mean_shape(what: str, counts: Mapping[float, int], limit: ResultLimit | None = None) -> Entered:
    """Mean sphericity or roundness from the number of grains like each picture of the chart.

    Raises:
        InputError: no such shape, a value off the chart (above 0, up to 1), a negative count, or
            no grains.
    """
    kind = PROPERTIES.get(what)
    if kind is None or not kind.by_grains:
        raise InputError(f"{what!r} is no shape of grains: expected sphericity or roundness")
    if any(not 0 < value <= 1 or count < 0 for value, count in counts.items()):
        raise InputError(f"{what}: expected chart values above 0 up to 1, and counts of 0 or more")
    grains = sum(counts.values())
    if not grains:
        raise InputError(f"{what}: no grains were counted, expected {LEAST_GRAINS} or more")
    mean = math.fsum(value * count for value, count in counts.items()) / grains
    few = (f"{grains} grains: expected {LEAST_GRAINS} or more",) if grains < LEAST_GRAINS else ()
    each = tuple(value for value, count in counts.items() for _ in range(count))
    return replace(judge_entered(what, mean, limit, few), determinations=each)


def mean_entered(
    what: str, determinations: Sequence[float], limit: ResultLimit | None = None
) -> Entered:
    """The mean of several determinations, compared with its limit.

    Raises:
        InputError: as `judge_entered` for one of them, or there are none.
    """
    for value in determinations:
        judge_entered(what, value)
    if not determinations:
        raise InputError(f"{what}: expected one determination or more")
    mean = math.fsum(determinations) / len(determinations)
    return replace(judge_entered(what, mean, limit), determinations=tuple(determinations))


def judge_entered(
    what: str, value: float, limit: ResultLimit | None = None, findings: Sequence[str] = ()
) -> Entered:
    """Compare an entered value with its limit, where it has one.

    Raises:
        InputError: no such property, or it can't have the value.
    """
    kind = find(PROPERTIES, what, "property here")
    if not math.isfinite(value) or value < 0:
        raise InputError(f"{what} is {value:g}: expected a number of 0 or more")
    if value > kind.most:
        unit = f" {kind.unit}".rstrip()
        raise InputError(f"{what} is {value:g}{unit}: expected {kind.most:g}{unit} or less")
    passes = None if limit is None else limit.passes(value)
    return Entered(name=what, value=value, limit=limit, passes=passes, findings=tuple(findings))
