"""The plan of a round robin: who crushes which portion of one material, and in which order.

Everybody crushes once in each round, in an order drawn anew for each: what drifts during the study
(the sieves, the weather, the material) then falls on all alike. Which portion of the split material
is whose is drawn too. Source: randomised blocks, as ASTM E691 clause 10 and ISO 5725-2:1994 5.1 ask
for one lot, split and assigned at random; from memory.
"""

import random
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from ramphold.errors import InputError
from ramphold.method.study import LEAST_LABORATORIES, LEAST_RESULTS

# No study has more crushes: a typing error.
_MOST = 999


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedCrush:
    """One crush of the plan.

    Attributes:
        order: its place in the study, from 1; the label of its specimen.
        round: each participant crushes once in a round.
        participant: the operator, press or laboratory.
        portion: which portion of the split material, from 1.
    """

    order: int
    round: int
    participant: str
    portion: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyResult:
    """A result of a study as it was found.

    Attributes:
        participant: the operator, press or laboratory.
        fines_pct: the fines in % of the charge.
        sample: laboratory number of the sample.
        specimen, label: number and label of the specimen.
        crushed: when its run began, UTC, as text that sorts by time.
    """

    participant: str
    fines_pct: float
    sample: str
    specimen: int
    label: str
    crushed: str


def plan_study(participants: Sequence[str], results: int, seed: int) -> tuple[PlannedCrush, ...]:
    """Plan a study; the same seed gives the same plan.

    Args:
        participants: the names of operators, presses or laboratories.
        results: how many each makes.
        seed: of the draws.

    Raises:
        InputError: too few of either, too many crushes, or a name twice.
    """
    if len(participants) < LEAST_LABORATORIES or results < LEAST_RESULTS:
        raise InputError(
            f"{len(participants)} participants with {results} results each: expected "
            f"{LEAST_LABORATORIES} or more with {LEAST_RESULTS} or more"
        )
    if len(participants) * results > _MOST:
        raise InputError(f"{len(participants) * results} crushes: expected {_MOST} or fewer")
    if twice := [name for name, count in Counter(participants).items() if count > 1]:
        raise InputError(f"{twice[0]} takes part twice: expected each name once")
    chance = random.Random(seed)  # noqa: S311 - a plan, no secret
    portions = list(range(1, len(participants) * results + 1))
    chance.shuffle(portions)
    found: list[PlannedCrush] = []
    for number in range(1, results + 1):
        turns = list(participants)
        chance.shuffle(turns)
        for name in turns:
            order = len(found) + 1
            found.append(
                PlannedCrush(
                    order=order, round=number, participant=name, portion=portions[order - 1]
                )
            )
    return tuple(found)


def departures(plan: Iterable[PlannedCrush], results: Iterable[StudyResult]) -> Iterator[str]:
    """How what was found departs from the plan, a sentence each."""
    planned = {str(one.order): one for one in plan}
    found = sorted(results, key=lambda one: one.crushed)
    seen: dict[str, StudyResult] = {}
    latest = 0
    for one in found:
        crush = planned.get(one.label.lstrip("0"))
        where = f"specimen {one.specimen} of {one.sample}"
        if crush is None:
            yield f"{where}, labelled {one.label or 'nothing'!r}, is not in the plan"
            continue
        label = str(crush.order)
        if label in seen:
            yield f"crush {label} is there twice: {where}, and specimen {seen[label].specimen}"
            continue
        seen[label] = one
        if crush.participant != one.participant:
            yield f"crush {label} was planned for {crush.participant}, and is by {one.participant}"
        if crush.order < latest:
            yield f"crush {label} was made after crush {latest}"
        latest = max(latest, crush.order)
    for label, crush in planned.items():
        if label not in seen:
            yield f"crush {label} by {crush.participant} is missing, or does not count"
