"""The class by propagation of distributions: what is unknown is drawn, and each draw has a class.

It is beside `class_posterior`, which adds up probabilities instead: both from one model, but the
draws need no effective degrees of freedom and let each draw fall as it may.

Source: JCGM 101:2008 clauses 5.9 and 6.4, from memory.
"""

import numpy as np

from ramphold.method.class_evidence import posterior_of
from ramphold.method.class_question import ClassQuestion
from ramphold.method.log_odds import has_odds
from ramphold.method.monte_carlo import DRAWS, Draws, generator
from ramphold.method.precision import Spread


def classes_by_draws(
    question: ClassQuestion, *, seed: int, draws: int = DRAWS
) -> tuple[float, ...]:
    """The share of draws in which none, one, two ... of the stresses, from the lowest on, pass."""
    chance, scatter = generator(seed), question.scatter
    posterior = posterior_of(question)
    between = scatter.between or Spread(sd=0.0, dof=np.inf)
    counts = np.zeros(len(question.stresses) + 1)
    told = np.array([has_odds(one.mean_pct) for one in question.stresses])
    sure = np.array([one.mean_pct <= question.limit_pct for one in question.stresses])
    for at, count in enumerate(chance.multinomial(draws, posterior.weights)):
        if not count:
            continue
        root = _root(posterior.covariances[at])
        own = chance.standard_normal((count, told.size)) @ root.T
        half_pct = posterior.half_widths_pct[at]
        shared = between.sd * _scale(between.dof, chance, count) * chance.standard_normal(count)
        shared += chance.uniform(-half_pct, half_pct, count)
        under = posterior.gaps_pct[at] + own * _scale(scatter.spread.dof, chance, count)[:, None]
        within = np.where(told, under + shared[:, None] >= 0, sure)
        passed = np.logical_and.accumulate(within, axis=1).sum(axis=1)
        counts += np.bincount(passed, minlength=counts.size)
    return tuple((counts / draws).tolist())


def _scale(dof: float, chance: np.random.Generator, count: int) -> Draws:
    """What makes a normal deviate one of Student's t."""
    if np.isinf(dof):
        return np.ones(count)
    return np.sqrt(dof / chance.chisquare(dof, count))


def _root(covariance: Draws) -> Draws:
    """A matrix whose square is a covariance, which rounding may have made slightly negative."""
    values, vectors = np.linalg.eigh(covariance)
    root: Draws = vectors * np.sqrt(np.maximum(values, 0.0))
    return root
