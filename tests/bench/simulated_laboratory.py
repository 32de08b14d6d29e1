"""Does U cover, and is a stated probability right? Laboratories whose true values are known.

Each sample has a true curve of fines over stress. A result differs from it by the specimen, the
split, the day, the operator, the press, the hand at the lever, and the pair of sieves, each with a
deviation that is given here. A laboratory draws its pair of sieves within ASTM E11 and keeps it. It
knows only what it measures: its specimens, its control sand (a new day, split and hand each time,
by one of its operators on one of its presses), and what it knows of its sieves. The truth shares no
constant with `method`: slopes and bends of the curves, the scatter of blanks and what an opening
does to fragments are its own.

The probability that is judged is that of the class by the rule, as screen, report and JSON print
it: that the true fines, without the deviations of this split, day, operator and press and on sieves
of nominal opening, are within the limit at that stress and all lower ones tested, and not at the
next one tested. The truth here is exactly that: the class by `Sand.pct` at the same stresses. It is
not whether a repeat finds the class again. Beside how far a bin is off stands its standard error.
Samples of one laboratory share its sieves and what it knows, so that it is from laboratory to
laboratory. Bins of less than a twentieth of the samples are put together.

    python tests/bench/simulated_laboratory.py [SAMPLES] [SEED] [--classes]

`--classes` leaves the intervals out, which take most of the time.
"""

import math
import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # threads cost small matrices ten times as much

import random
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from itertools import takewhile

from _stated_classes import Stated, all_of, bins, within_edges

from ramphold.method.budgets import Balance, fines_budget, mass_budget
from ramphold.method.class_evidence import weigh_class
from ramphold.method.sieve_openings import SievePair, known_opening, tolerance_mm
from ramphold.method.uncertainty import Component, Shape, of_mean
from ramphold.sample import ControlPoint, laboratory_precision

#: Standard deviations in % fines at 10 % fines, invented: of one specimen, and of the sources that
#: a day of one sample shares.
WITHIN_PCT = 0.5
SHARED_PCT = {"split": 0.5, "day": 0.3, "hand": 0.2}
#: Those of a laboratory's people and presses, who stay, and how many it has.
STAFF_PCT = {"operator": (0.35, 5), "press": (0.25, 3)}
#: A quarter of the charge lies in the 75 um above the finer sieve.
GRADING_PCT_MM = 25 / 0.075
STRESSES_PSI = tuple(1000.0 * step for step in range(4, 11))
LIMIT_PCT, SPECIMENS, CONTROLS = 10.0, 3, 30
_CHARGE_G = 40.0
_BALANCE = Balance(step_g=0.001, repeatability_g=0.001)
_SCALE_PCT = LIMIT_PCT * (100 - LIMIT_PCT) / 100
#: The true curves: log-odds over the logarithm of stress, with these slopes and bends.
_SLOPES, _BEND_SD = (2.0, 4.5), 0.3
#: Where the sands reach 10 %: some already below the lowest stress, some only above the greatest.
_CROSSINGS_PSI = (3300, 12_500)
#: Samples of a laboratory, which keeps its sieves and its control sand for them.
_SAMPLES_EACH = 5
_CONFIDENCE = 0.95

ONE, MEASURED, BLANK, UNKNOWN, BETTER = (
    "one measured sieve for both",
    "two sieves, openings measured",
    "two sieves, not measured, with a blank",
    "two sieves, not measured, without a blank",
    "the same, made better than E11 asks",
)
CONDITIONS = (ONE, MEASURED, BLANK, UNKNOWN, BETTER)
_MEASURED_U_MM = 0.001


@dataclass
class Tally:
    """How often intervals covered, and what was stated of classes."""

    intervals: list[Stated] = field(default_factory=list)
    intervals_before: list[Stated] = field(default_factory=list)
    classes: list[Stated] = field(default_factory=list)
    classes_before: list[Stated] = field(default_factory=list)

    def add(self, other):
        """What was found in other laboratories."""
        self.intervals += other.intervals
        self.intervals_before += other.intervals_before
        self.classes += other.classes
        self.classes_before += other.classes_before


@dataclass(frozen=True)
class Sand:
    """A true curve: the stress of 10 %, and slope and bend there."""

    crossing_psi: float
    slope: float
    bend: float

    def pct(self, stress_psi):
        x = math.log(stress_psi / self.crossing_psi)
        odds = math.log(LIMIT_PCT / (100 - LIMIT_PCT)) + self.slope * x + self.bend * x * x
        return 100 / (1 + math.exp(-odds))


def shifted(fines_pct, shift_pct):
    """Fines whose log-odds are shifted as far as `shift_pct` shifts 10 %."""
    odds = math.log(fines_pct / (100 - fines_pct)) + shift_pct / _SCALE_PCT
    return 100 / (1 + math.exp(-odds))


class Laboratory:
    """A pair of sieves and a control sand, and what the laboratory knows of either."""

    #: How much of what passes of a charge differs from one charge to the next, as a share of it.
    passing_sd = 0.2
    #: Fragments below an opening grow with this power of it.
    fragments = 0.8

    def __init__(self, chance, known):
        self.staff = {
            name: [chance.gauss(0, sd) for _ in range(count)]
            for name, (sd, count) in STAFF_PCT.items()
        }
        self.precision = laboratory_precision(self.control_sand(chance))
        half_mm = tolerance_mm(40)
        if known == BETTER:
            off_mm = [min(max(chance.gauss(0, half_mm / 3), -half_mm), half_mm) for _ in range(2)]
        else:
            off_mm = [chance.uniform(-half_mm, half_mm) for _ in range(2)]
        self.cut_mm, self.after_mm = (0.425 + off for off in off_mm)
        if known == ONE:
            self.cut_mm = self.after_mm
        self.whole_pct = max(GRADING_PCT_MM * (self.after_mm - self.cut_mm), 0.0)
        seen_mm = [one + chance.gauss(0, _MEASURED_U_MM) for one in (self.cut_mm, self.after_mm)]
        measured = known in (ONE, MEASURED)
        serials = "AA" if known == ONE else "AB"
        openings = [
            known_opening(40, serial, seen if measured else None, _MEASURED_U_MM)
            for serial, seen in zip(serials, seen_mm, strict=True)
        ]
        self.pair = SievePair(
            cut=openings[0],
            after=openings[1],
            grading_pct_mm=GRADING_PCT_MM,
            blanks_pct=(self.passed_pct(chance),) if known == BLANK else (),
        )

    def sand(self, chance):
        """A sand that is sent to it."""
        crossing_psi = math.exp(chance.uniform(*map(math.log, _CROSSINGS_PSI)))
        return Sand(crossing_psi, chance.uniform(*_SLOPES), chance.gauss(0, _BEND_SD))

    def control_sand(self, chance):
        """Control samples of 10 %, each on a day and from a split of its own."""
        for number in range(CONTROLS):
            operator, press, shared = self.shared_pct(chance)
            for specimen in range(SPECIMENS):
                yield ControlPoint(
                    sample=number,
                    specimen=specimen,
                    material="control",
                    utc_ns=number * 86_400 * 10**9,
                    press=str(press),
                    cell="",
                    operator=str(operator),
                    stress_psi=5000.0,
                    fines_pct=shifted(LIMIT_PCT, shared + chance.gauss(0, WITHIN_PCT)),
                )

    def shared_pct(self, chance):
        """An operator, a press, and what the specimens of one sample on one day share."""
        operator, press = (chance.randrange(len(self.staff[name])) for name in STAFF_PCT)
        own = sum(chance.gauss(0, sd) for sd in SHARED_PCT.values())
        return operator, press, own + self.staff["operator"][operator] + self.staff["press"][press]

    def passed_pct(self, chance):
        """Whole grains of one charge that pass, in %."""
        return max(self.whole_pct * chance.gauss(1, self.passing_sd), 0.0)

    def result_pct(self, chance, true_pct, shared):
        """The fines of one specimen as they are weighed."""
        crushed = shifted(true_pct, shared + chance.gauss(0, WITHIN_PCT))
        found = crushed * (self.after_mm / 0.425) ** self.fragments + self.passed_pct(chance)
        return min(found, 100.0)  # no more than the charge is weighed

    def parts(self, fines_pct, n=1):
        """The sources that it states for its sieves, for a mean of `n`."""
        return tuple(of_mean(part, n) for part in self.pair.components(fines_pct))


def one_sample(chance, laboratory, tally, *, number, intervals=True):
    """Crush a sample at every stress, state U and class, and compare both with the truth."""
    sand, (_, _, shared) = laboratory.sand(chance), laboratory.shared_pct(chance)
    truth = {psi: sand.pct(psi) for psi in STRESSES_PSI}
    found = [
        (psi, laboratory.result_pct(chance, pct, shared))
        for psi, pct in truth.items()
        for _ in range(SPECIMENS)
    ]
    now = weigh_class(
        found,
        limit_pct=LIMIT_PCT,
        laboratory=laboratory.precision,
        sieves=laboratory.pair,
    )
    before = weigh_class(found, limit_pct=LIMIT_PCT)
    tally.classes.append(_of_class(now, truth, number))
    tally.classes_before.append(_of_class(before, truth, number))
    if not intervals:
        return
    for point in now.found.points:
        pct = truth[point.stress_psi]
        if not 5 <= pct <= 20:
            continue
        parts = laboratory.parts(point.mean_pct, point.n)
        covers = _covers(point, now.spread, laboratory.precision.between, parts, pct)
        covered = _covers(point, before.spread, None, [], pct)
        tally.intervals.append(Stated(number, _CONFIDENCE, covers))
        tally.intervals_before.append(Stated(number, _CONFIDENCE, covered))


def _of_class(evidence, truth, number):
    """What is stated of the class by the rule, and whether it is the truth."""
    name = evidence.found.crush_class
    passed = list(takewhile(lambda psi: truth[psi] <= LIMIT_PCT, STRESSES_PSI))
    true_name = f"{int(passed[-1] / 1000)}K" if passed else None
    return Stated(number, evidence.probability(name), name == true_name)


def _covers(point, spread, between, parts, pct):
    scale = point.mean_pct * (100 - point.mean_pct) / 100 / _SCALE_PCT
    others = [Component(name="scatter", u=spread.sd * scale / math.sqrt(point.n), dof=spread.dof,
                        shape=Shape.READINGS)]  # fmt: skip
    if between is not None:
        others.append(Component(name="between", u=between.sd * scale, dof=between.dof))
    pan = mass_budget(point.mean_pct * _CHARGE_G / 100, _BALANCE)
    budget = fines_budget(pan, mass_budget(_CHARGE_G, _BALANCE), *others, *parts)
    return abs(budget.value - pct) <= budget.expanded


def simulate(known, samples, seed, *, intervals=True, each=_SAMPLES_EACH, kind=Laboratory):
    """The tally of laboratories that know this of their sieves."""
    tally = Tally()
    for number in range(-(-samples // each)):
        count = min(each, samples - number * each)
        tally.add(of_laboratory(number, known, count, seed, intervals=intervals, kind=kind))
    return tally


def of_laboratory(number, known, samples, seed, *, intervals, kind):
    """The tally of one laboratory, whose chance is its own."""
    chance, tally = random.Random(f"{seed} {known} {number}"), Tally()
    laboratory = kind(chance, known)
    for _ in range(samples):
        one_sample(chance, laboratory, tally, number=number, intervals=intervals)
    return tally


def lines(samples, seed, *, intervals=True, kind=Laboratory):
    """The table that `make bench-laboratory` prints."""
    yield (
        f"{samples} samples of {len(STRESSES_PSI)} stresses, {SPECIMENS} specimens each, "
        f"{_SAMPLES_EACH} samples a laboratory, seed {seed}\n\n"
        "probability of the class by the rule: that the true fines, but for the deviations of "
        "this split, day, operator,\npress and pair of sieves, have it among the stresses tested. "
        "noise: standard error of `off`, from laboratory\nto laboratory. before: without control "
        "sand and sieves, where that stated a probability in the same bin"
    )
    tallies = {}
    for known in CONDITIONS:
        tallies[known] = _of_all(known, samples, seed, intervals=intervals, kind=kind)
        yield f"\n{known}"
        yield (
            f"{'stated':>12}{'samples':>9}{'mean stated':>13}{'true':>8}{'off':>8}{'noise':>8}"
            f"{'before: samples':>18}{'stated':>8}{'true':>8}{'off':>8}"
        )
        for one in bins(tallies[known].classes, least=samples // 20):
            yield _row(one) + _before(tallies[known], one)
    if intervals:
        yield from _coverage(tallies)


def _of_all(known, samples, seed, *, intervals, kind):
    """The tally of as many laboratories as crush so many samples, on every processor."""
    one = partial(
        of_laboratory,
        known=known,
        samples=_SAMPLES_EACH,
        seed=seed,
        intervals=intervals,
        kind=kind,
    )
    tally = Tally()
    with ProcessPoolExecutor(os.cpu_count() or 1) as pool:
        for more in pool.map(one, range(samples // _SAMPLES_EACH), chunksize=10):
            tally.add(more)
    return tally


def _coverage(tallies):
    head = "the laboratories know of their sieves"
    yield f"\n{head:<44}{'95 % interval covers':>22}{'noise':>9}{'before':>10}"
    for known, tally in tallies.items():
        now, before = (100 * all_of(one).true for one in (tally.intervals, tally.intervals_before))
        noise = 100 * all_of(tally.intervals).noise
        yield f"{known:<44}{now:>20.1f} %{noise:>7.1f} %{before:>8.1f} %"
    yield "before: scatter of the specimens and balance alone, without control sand and sieves"


def _row(one):
    edges = f"{one.low:.2f}-{one.high:.2f}"
    return (
        f"{edges:>12}{one.count:>9}{one.stated:>13.3f}{one.true:>8.3f}{one.off:>+8.3f}"
        f"{one.noise:>8.3f}"
    )


def _before(tally, one):
    was = within_edges(tally.classes_before, one.low, one.high)
    if not was.count:
        return f"{0:>18}"
    return f"{was.count:>18}{was.stated:>8.3f}{was.true:>8.3f}{was.off:>+8.3f}"


if __name__ == "__main__":
    words = [word for word in sys.argv[1:] if not word.startswith("--")]
    count, start = (words + ["4000", "1"][len(words) :])[:2]
    for line in lines(int(count), start, intervals="--classes" not in sys.argv):
        print(line, flush=True)
