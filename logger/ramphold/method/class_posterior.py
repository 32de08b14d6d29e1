"""The probability that the true fines at each stress are within the limit, by Bayes' theorem.

The model, in log-odds over the logarithm of stress:

- the true curve of a sand has any height, and a slope and a bend as sands have them. It departs
  from such a curve by nothing or, less likely, so far that its neighbours say little of a stress;
- the means of one sample are off the curve by one deviation that they share: of split, day,
  operator and press;
- each specimen is off its mean by its own;
- the pair of sieves adds whole grains and changes the fragments (`pair_hypotheses`).

For each hypothesis on sieves and departure the rest is linear and normal and is solved exactly. The
hypotheses are weighed by what means and replicates say of them.

Sources: C. M. Bishop, Pattern Recognition and Machine Learning (2006), 2.3.3 and 3.3 (linear normal
models) and 3.4 (weighing of hypotheses); JCGM 106:2012 clauses 6 and 7; from memory.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ramphold.method.class_question import ClassQuestion, Replicated, Scatter
from ramphold.method.deviation import Deviation
from ramphold.method.log_odds import has_odds, log_odds, per_log_odds
from ramphold.method.pair_hypotheses import (
    WEIGHED_PCT,
    Floats,
    PairHypotheses,
    pair_hypotheses,
)
from ramphold.method.precision import Spread
from ramphold.method.t_probabilities import t_cdf

# Ours, from memory of crush curves: slope of the log-odds over the logarithm of stress with its
# deviation from sand to sand, and that of the bend (half the second derivative).
_SLOPE, _SLOPE_SD, _BEND_SD = 3.0, 1.0, 0.3
# So wide that nothing is said about the height of the curve.
_HEIGHT_SD = 20.0
# Ours: departures from such a curve, in log-odds, with their weights.
_DEPARTURES = ((0.0, 0.7), (0.1, 0.2), (0.5, 0.1))
# Of the log-odds of a specimen: far finer than a balance tells.
_LEAST_VARIANCE = 1e-6
# How often the variance of a specimen is found anew from the replicates.
_ROUNDS = 6
# Hypotheses with less of the whole probability are left out of the last step.
_TELLING = 1e-6
# Amounts that stand for those of all hypotheses.
_AMOUNTS = 40
_ALL_PCT = 100.0
# Far less than a balance tells; less has no logarithm.
_LEAST_PCT = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class ClassPosterior:
    """What is known of the true fines at each stress, by hypothesis.

    Attributes:
        passes: for each stress, the probability that it and all lower ones are within the limit.
        weights: of the hypotheses that tell; they sum up to one.
        gaps_pct: how far each of them expects the true fines under the limit, in % near it; a row
            for each hypothesis, a column for each stress.
        covariances: of the gaps of each, without what the specimens share and without the opening.
        half_widths_pct: how far the opening after the crush may move all gaps of one.
        pairs: the hypothesis on the sieves of each.
    """

    passes: Floats
    weights: Floats
    gaps_pct: Floats
    covariances: Floats
    half_widths_pct: Floats
    pairs: PairHypotheses

    def sieves(self, limit_pct: float) -> Deviation:
        """What the sieves do to every mean near the limit, in %, as a few amounts.

        Neighbouring amounts are put together, so that a reach over them is found quickly.
        """
        amounts, places = np.unique(
            self.pairs.whole_pct + limit_pct * self.pairs.widening, return_inverse=True
        )
        weights = np.bincount(places, self.weights)
        groups = np.minimum((np.cumsum(weights) - weights / 2) * _AMOUNTS, _AMOUNTS - 1).astype(int)
        shares = np.bincount(groups, weights)
        held = shares > 0
        middles = np.bincount(groups, weights * amounts)[held] / shares[held]
        squares = np.average(self.pairs.shares**2, weights=self.weights)
        return Deviation(
            u=float(np.sqrt(np.average(self.half_widths_pct**2, weights=self.weights) / 3)),
            amounts=tuple(middles.tolist()),
            weights=tuple(shares[held].tolist()),
            share=float(np.sqrt(squares)),
        )


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """Means with log-odds, as each hypothesis on the sieves sees them."""

    rest_pct: Floats  # a row for each hypothesis, a column for each stress
    n: Floats
    variances: Floats  # of the log-odds of a specimen
    logs: Floats  # logarithm of the weight, by the replicates


def class_posterior(question: ClassQuestion) -> ClassPosterior:
    """Weigh the hypotheses by the specimens, and each stress by the hypotheses."""
    stresses, scatter, limit_pct = question.stresses, question.scatter, question.limit_pct
    pair = pair_hypotheses(question.sieves)
    told = [at for at, one in enumerate(stresses) if has_odds(one.mean_pct)]
    seen = _seen([stresses[at] for at in told], scatter, pair, limit_pct)
    x = np.log([one.stress_psi for one in stresses])
    x = x - x.mean()
    solved = [_solved(x, told, seen, departure) for departure in _DEPARTURES]
    logs, middles, covariances = (np.concatenate(column) for column in zip(*solved, strict=True))
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    tells = np.flatnonzero(weights > _TELLING)
    pairs = tells % pair.whole_pct.size
    per_odds = per_log_odds(limit_pct)
    weights = weights[tells] / weights[tells].sum()
    gaps_pct = (log_odds(limit_pct) - middles[tells]) * per_odds
    covariances = covariances[tells] * per_odds**2
    half_widths_pct = limit_pct * pair.half_widths[pairs]
    passes = _passes(gaps_pct, covariances, half_widths_pct, scatter)
    for at, one in enumerate(stresses):
        if not has_odds(one.mean_pct):  # nothing at all, or everything
            passes[:, at] = float(one.mean_pct <= limit_pct)
    return ClassPosterior(
        passes=weights @ np.minimum.accumulate(passes, axis=1),
        weights=weights,
        gaps_pct=gaps_pct,
        covariances=covariances,
        half_widths_pct=half_widths_pct,
        pairs=pair.at(pairs),
    )


def _seen(
    stresses: Sequence[Replicated], scatter: Scatter, pair: PairHypotheses, limit_pct: float
) -> _Seen:
    """What is left of the means without the effect of the sieves, and how it scatters."""
    mean_pct, n, variance = (
        np.array([getattr(one, name) for one in stresses], dtype=float)
        for name in ("mean_pct", "n", "variance")
    )
    whole_pct, widening = pair.whole_pct[:, None], 1 + pair.widening[:, None]
    rest_pct = (mean_pct - whole_pct) / widening
    # No more whole grains pass than were weighed, unless every hypothesis says so.
    possible = np.all((rest_pct > 0) & (rest_pct < _ALL_PCT), axis=1, keepdims=True)
    logs = pair.log_weights.copy()
    if possible.any():
        logs[~possible[:, 0]] = -np.inf
    rest_pct = np.where(possible, rest_pct, mean_pct).clip(_LEAST_PCT, _ALL_PCT - _LEAST_PCT)
    per_odds = rest_pct * (_ALL_PCT - rest_pct) / _ALL_PCT
    at_limit = per_log_odds(limit_pct)
    passing = (pair.shares[:, None] * whole_pct / per_odds) ** 2
    passing += WEIGHED_PCT**2 * np.maximum(per_odds**-2 - at_limit**-2, 0.0)
    own = np.full(whole_pct.shape, (scatter.spread.sd / at_limit) ** 2)
    control = scatter.control
    if whole_pct.any():
        if control is not None:
            control = Spread(sd=control.sd / at_limit, dof=control.dof)
        own = _own_variance(own, passing, (variance / per_odds**2, n - 1), control)
    variances = np.maximum(own + passing, _LEAST_VARIANCE)
    if whole_pct.any():
        shown = variances * per_odds**2
        logs -= ((n - 1) / 2 * (np.log(shown) + variance / shown)).sum(axis=1)
        if control is not None and math.isfinite(control.dof):
            logs -= control.dof / 2 * (np.log(own) + control.sd**2 / own)[:, 0]
    # The density is that of the fines, not of their odds.
    logs -= np.log(per_odds * widening).sum(axis=1)
    return _Seen(rest_pct, n, variances, logs)


def _own_variance(
    own: Floats, passing: Floats, replicates: tuple[Floats, Floats], control: Spread | None
) -> Floats:
    """The variance of a specimen but for what passes whole, by replicates and control sand.

    A replicate counts by the share that its own scatter has in what it shows: repeated, that comes
    to the variance at which the squares equal their degrees of freedom.
    """
    found, dof = replicates
    known, known_dof = (control.sd**2, control.dof) if control else (0.0, 0.0)
    if math.isinf(known_dof):
        return np.full(own.shape, max(known, _LEAST_VARIANCE))
    for _ in range(_ROUNDS):
        shares = own / np.maximum(own + passing, _LEAST_VARIANCE)
        total = (dof * found * shares).sum(axis=1, keepdims=True) + known_dof * known
        own = np.maximum(total / max(float(dof.sum()) + known_dof, 1.0), _LEAST_VARIANCE)
    return own


def _solved(
    x: Floats, told: Sequence[int], seen: _Seen, departure: tuple[float, float]
) -> tuple[Floats, Floats, Floats]:
    """Logarithm of the weight, and mean and covariance of the true log-odds, of each hypothesis."""
    spread = _HEIGHT_SD**2 + np.outer(x, x) * _SLOPE_SD**2 + np.outer(x * x, x * x) * _BEND_SD**2
    spread = spread + departure[0] ** 2 * np.eye(x.size)
    middle = _SLOPE * x
    rows = spread[told]
    means = rows[:, told] + (seen.variances / seen.n)[:, :, None] * np.eye(len(told))
    off = np.log(seen.rest_pct / (_ALL_PCT - seen.rest_pct)) - middle[told]
    both = np.concatenate((off[:, :, None], np.broadcast_to(rows, (len(off), *rows.shape))), axis=2)
    answer = np.linalg.solve(means, both)
    logs = seen.logs + math.log(departure[1])
    logs = logs - (off * answer[:, :, 0]).sum(axis=1) / 2 - np.linalg.slogdet(means)[1] / 2
    return (
        logs,
        middle + answer[:, :, 0] @ rows,
        spread - rows.T @ answer[:, :, 1:],
    )


def _passes(
    gaps_pct: Floats, covariances: Floats, half_widths_pct: Floats, scatter: Scatter
) -> Floats:
    """The probability of each stress to be within the limit, under each hypothesis.

    Source of the degrees of freedom: Welch and Satterthwaite, JCGM 100:2008 G.4.1, from memory.
    """
    own = np.maximum(np.diagonal(covariances, axis1=1, axis2=2), 0.0)
    shared, dof = 0.0, math.inf
    if scatter.between is not None:
        shared, dof = scatter.between.sd**2, scatter.between.dof
    variance = own + shared + (half_widths_pct[:, None]) ** 2 / 3
    parts = own**2 / scatter.spread.dof + shared**2 / dof
    freedom = np.where(parts > 0, variance**2 / np.maximum(parts, 1e-300), math.inf)
    return t_cdf(gaps_pct / np.sqrt(variance), freedom)
