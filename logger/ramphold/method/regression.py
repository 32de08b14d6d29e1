"""Least squares: a straight line or a quadratic through measured points, and back from it.

The sums are exact: each value counts as the decimal number that was written, in rational
arithmetic, so that no scaling or order of the points changes a digit.
"""

import math
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from ramphold.errors import InputError
from ramphold.method.distributions import f_tail, two_sided_t

__all__ = ["Fit", "Inverse", "LackOfFit", "fit", "invert", "lack_of_fit"]

# How far beyond the fitted points an interval's end is looked for, as a share of their span.
_MARGIN = 0.1

type _Matrix = list[list[Fraction]]
