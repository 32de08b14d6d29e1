"""Does U cover, and is a stated probability right? A laboratory whose true values are known.

Each sample has a true curve of fines over stress. A result differs from it by the specimen, the
split, the day, the operator, the press, the hand at the lever, and the pair of sieves, each with a
deviation that is given here. The laboratory knows only what it measures: its specimens, its control
sand (a new day, split, operator, press and hand each time), and what it knows of its sieves.

    python tests/bench/simulated_laboratory.py [SAMPLES] [SEED]
"""

import math
import random
import sys
from collections import defaultdict
from dataclasses import dataclass, field

from ramphold.method.budgets import Balance, fines_budget, mass_budget
from ramphold.method.class_evidence import weigh_class
from ramphold.method.precision import components
from ramphold.method.sieve_openings import (
    MOST_BLANK_PCT,
    known_opening,
    pair_components,
    tolerance_mm,
)
from ramphold.method.uncertainty import Component, Shape

#: Standard deviations in % fines at 10 % fines, invented: of one specimen, and of the sources that
#: a day of one sample shares.
WITHIN_PCT = 0.5
SHARED_PCT = {"split": 0.5, "day": 0.3, "operator": 0.3, "press": 0.3, "hand": 0.2}
#: A quarter of the charge lies in the 75 um above the finer sieve.
GRADING_PCT_MM = 25 / 0.075
STRESSES_PSI = tuple(1000.0 * step for step in range(4, 11))
LIMIT_PCT, SPECIMENS, CONTROLS = 10.0, 3, 30
_CHARGE_G = 40.0
_BALANCE = Balance(step_g=0.001, repeatability_g=0.001)
_SCALE_PCT = LIMIT_PCT * (100 - LIMIT_PCT) / 100
_SIEVES = ("one sieve for both", "a blank within its limit", "openings not measured")
_BINS = (0.0, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0001)


@dataclass
class Tally:
    """How often intervals covered, and how often a class of a probability was the true one."""

    results: int = 0
    covered: int = 0
    covered_before: int = 0
    bins: dict[float, list[tuple[float, bool]]] = field(default_factory=lambda: defaultdict(list))
    bins_before: dict[float, list[tuple[float, bool]]] = field(
        default_factory=lambda: defaultdict(list)
    )


def true_pct(crossing_psi, stress_psi):
    """True fines: log-odds that rise with the logarithm of stress, 10 % at the crossing."""
    odds = math.log(LIMIT_PCT / (100 - LIMIT_PCT)) + 2.9 * math.log(stress_psi / crossing_psi)
    return 100 / (1 + math.exp(-odds))


def shifted(fines_pct, shift_pct):
    """Fines whose log-odds are shifted as far as `shift_pct` shifts 10 %."""
    odds = math.log(fines_pct / (100 - fines_pct)) + shift_pct / _SCALE_PCT
    return 100 / (1 + math.exp(-odds))


def shared_pct(chance):
    """What the specimens of one sample on one day have in common."""
    return sum(chance.gauss(0, sd) for sd in SHARED_PCT.values())


def control_sand(chance):
    """The precision that the control sand of 10 % shows, each time with a day of its own."""
    groups = []
    for _ in range(CONTROLS):
        shared = shared_pct(chance)
        groups.append([
            shifted(LIMIT_PCT, shared + chance.gauss(0, WITHIN_PCT)) for _ in range(SPECIMENS)
        ])  # fmt: skip
    return components([groups])


def sieves(chance, known):
    """What a pair of sieves adds to the fines in %, and what the laboratory knows of it."""
    half_mm = tolerance_mm(40)
    cut_mm, after_mm = (0.425 + chance.uniform(-half_mm, half_mm) for _ in range(2))
    if known == "one sieve for both":
        one = known_opening(40, "A", after_mm)
        return lambda _: 0.0, (one, one, None)
    whole_pct = max(GRADING_PCT_MM * (after_mm - cut_mm), 0.0)
    if known == "a blank within its limit":
        if whole_pct > MOST_BLANK_PCT:
            return sieves(chance, known)  # the pair is exchanged
        return lambda _: whole_pct, (known_opening(40), known_opening(40), whole_pct)
    return lambda _: whole_pct, (known_opening(40), known_opening(40), None)


def one_sample(chance, precision, known, tally):
    """Crush a sample at every stress, state U and class, and compare both with the truth."""
    crossing_psi = math.exp(chance.uniform(math.log(4300), math.log(9900)))
    shared = shared_pct(chance)
    added, (cut, after, blank_pct) = sieves(chance, known)
    truth = {psi: true_pct(crossing_psi, psi) for psi in STRESSES_PSI}
    found = [
        (psi, shifted(pct, shared + chance.gauss(0, WITHIN_PCT)) + added(pct))
        for psi, pct in truth.items()
        for _ in range(SPECIMENS)
    ]
    parts = list(pair_components(
        cut, after, grading_pct_mm=GRADING_PCT_MM, fines_pct=LIMIT_PCT, blank_pct=blank_pct
    ))  # fmt: skip
    u_pct = math.hypot(*(part.contribution for part in parts))
    now = weigh_class(found, limit_pct=LIMIT_PCT, laboratory=precision, sieves_u_pct=u_pct)
    before = weigh_class(found, limit_pct=LIMIT_PCT)
    for evidence, bins in ((now, tally.bins), (before, tally.bins_before)):
        _class_into(evidence, truth, bins)
    for point in now.found.points:
        pct = truth[point.stress_psi]
        if not 5 <= pct <= 20:
            continue
        tally.results += 1
        tally.covered += _covers(point, now.spread, precision.between, parts, pct)
        tally.covered_before += _covers(point, before.spread, None, [], pct)


def _class_into(evidence, truth, bins):
    name = evidence.found.crush_class
    probability = evidence.probability(name)
    passed = [psi for psi in STRESSES_PSI if truth[psi] <= LIMIT_PCT]
    true_name = f"{int(passed[-1] / 1000)}K" if passed else None
    low = max(edge for edge in _BINS if edge <= probability)
    bins[low].append((probability, name == true_name))


def _covers(point, spread, between, parts, pct):
    scale = point.mean_pct * (100 - point.mean_pct) / 100 / _SCALE_PCT
    others = [Component(name="scatter", u=spread.sd * scale / math.sqrt(point.n), dof=spread.dof,
                        shape=Shape.READINGS)]  # fmt: skip
    if between is not None:
        others.append(Component(name="between", u=between.sd * scale, dof=between.dof))
    pan = mass_budget(point.mean_pct * _CHARGE_G / 100, _BALANCE)
    budget = fines_budget(pan, mass_budget(_CHARGE_G, _BALANCE), *others, *parts)
    return abs(budget.value - pct) <= budget.expanded


def simulate(known, samples, seed):
    """The tally of a laboratory that knows this of its sieves; a new one each 20 samples."""
    chance, tally = random.Random(seed), Tally()
    precision = control_sand(chance)
    for number in range(samples):
        if number % 20 == 0:
            precision = control_sand(chance)
        one_sample(chance, precision, known, tally)
    return tally


def lines(samples, seed):
    """The table that `make bench-laboratory` prints."""
    stresses = len(STRESSES_PSI)
    yield f"{samples} samples of {stresses} stresses, {SPECIMENS} specimens each, seed {seed}"
    yield f"{'the laboratory knows of its sieves':<36}{'95 % interval covers':>22}{'before':>10}"
    tallies = {known: simulate(known, samples, seed) for known in _SIEVES}
    for known, tally in tallies.items():
        covered, before = (
            100 * count / tally.results for count in (tally.covered, tally.covered_before)
        )
        yield f"{known:<36}{covered:>20.1f} %{before:>8.1f} %"
    yield "before: scatter of the specimens and balance alone, without control sand and sieves"
    for known, tally in tallies.items():
        yield f"\nprobability of the stated class, {known}"
        yield f"{'stated from':>12}{'samples':>9}{'mean stated':>13}{'true':>8}{'true, before':>14}"
        for low in sorted(tally.bins):
            stated = tally.bins[low]
            old = tally.bins_before.get(low, [])
            yield (
                f"{low:>12.2f}{len(stated):>9}{_mean(p for p, _ in stated):>13.3f}"
                f"{_mean(right for _, right in stated):>8.3f}"
                f"{_mean(right for _, right in old):>14.3f}"
            )


def _mean(values):
    held = list(values)
    return sum(held) / len(held) if held else math.nan


if __name__ == "__main__":
    count, start = (int(text) for text in (sys.argv[1:] + ["4000", "1"][len(sys.argv) - 1 :]))
    print("\n".join(lines(count, start)))
