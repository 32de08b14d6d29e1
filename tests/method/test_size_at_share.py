"""Sizes at a share that passes, against another library's interpolation of the same curve."""

import numpy as np
import pytest

from ramphold.errors import InputError
from ramphold.method.editions import CURRENT, EDITIONS, find_size
from ramphold.method.sieves import OPENINGS_MM, PAN
from ramphold.method.sieving import analyse, size_at_mm

# Published: genevainternational.net, frac-sand page, table headed ISO 13503-2:2006 section 6.
PUBLISHED = {
    "20/40": {25: 7.1, 30: 17.9, 35: 29.4, 40: 41.0, 45: 4.4},
    "30/50": {30: 0.1, 35: 13.6, 40: 23.4, 45: 26.6, 50: 35.6, 60: 0.8},
    "40/70": {40: 0.3, 45: 25.6, 50: 28.9, 60: 25.9, 70: 18.1, 80: 1.2},
}


@pytest.mark.parametrize("name", PUBLISHED)
@pytest.mark.parametrize("pct", [10, 25, 50, 84.1, 90])
def test_a_size_at_a_share_is_what_linear_interpolation_gives(name, pct):
    masses, size = PUBLISHED[name], find_size(name)
    sieves = sorted({*masses, *size.stack}, key=OPENINGS_MM.get)
    total = sum(masses.values())
    passing = [100 * sum(masses.get(s, 0) for s in OPENINGS_MM if OPENINGS_MM[s] < OPENINGS_MM[x])
               / total for x in sieves]  # fmt: skip
    expected = np.interp(pct, passing, [OPENINGS_MM[sieve] for sieve in sieves])
    assert size_at_mm(masses, size, pct) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("name", PUBLISHED)
def test_half_passes_the_median(name):
    median = analyse(
        PUBLISHED[name], find_size(name), allowed=EDITIONS[CURRENT].sieving["fracturing"]
    ).median_mm
    assert size_at_mm(PUBLISHED[name], find_size(name), 50) == pytest.approx(median, rel=1e-12)


def test_a_share_in_the_pan_or_on_the_coarsest_sieve_has_no_size():
    size = find_size("20/40")
    assert size_at_mm({16: 30.0, 40: 50.0, PAN: 20.0}, size, 10) is None
    assert size_at_mm({16: 30.0, 40: 50.0, PAN: 20.0}, size, 80) is None
    assert size_at_mm({16: 30.0, 40: 50.0, PAN: 20.0}, size, 20) == pytest.approx(0.425)


@pytest.mark.parametrize(
    ("masses", "pct"),
    [({40: 1.0}, 0), ({40: 1.0}, 100), ({40: 1.0}, float("nan")), ({}, 50), ({40: -1.0}, 50),
     ({40: float("inf")}, 50), ({41: 1.0}, 50)],
)  # fmt: skip
def test_what_is_no_sieving_or_no_share_is_refused(masses, pct):
    with pytest.raises(InputError):
        size_at_mm(masses, find_size("20/40"), pct)
