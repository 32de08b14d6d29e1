"""Probabilities of Student's t for whole arrays, where `distributions.t_cdf` would be too slow.

Source: G. W. Hill, Algorithm 395: Student's t-distribution, Communications of the ACM 13 (1970),
617-619 (from memory): an expansion of the normal deviate.
"""

import math

import numpy as np
import numpy.typing as npt

from ramphold.method import distributions

Floats = npt.NDArray[np.float64]

_erfc = np.frompyfunc(math.erfc, 1, 1)
_exact = np.frompyfunc(distributions.t_cdf, 2, 1)
# Fewer degrees of freedom are worked out exactly, one by one; more make no difference.
_FEW_DOF = 2.5
_MOST_DOF = 1e7


def t_cdf(t: Floats, dof: Floats) -> Floats:
    """Probability that Student's t is at most `t`, to 0.0001."""
    held = np.minimum(dof, _MOST_DOF)
    a = held - 0.5
    b = 48 * a * a
    y = a * np.log1p(t * t / held)
    series = (((-0.4 * y - 3.3) * y - 24.0) * y - 85.5) / (0.8 * y * y + 100.0 + b)
    normal = ((series + y + 3.0) / b + 1.0) * np.sqrt(y)
    tail = np.asarray(_erfc(normal / math.sqrt(2)), dtype=float) / 2
    found = np.where(t < 0, tail, 1 - tail)
    few = held < _FEW_DOF
    found[few] = np.asarray(_exact(t[few], held[few]), dtype=float)
    return found
