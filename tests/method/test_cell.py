"""The 2.000 in. bore.

recomputed: 1 lbf = 4.4482216152605 N, 1 psi = 6.894757293168 kPa, area pi in2.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold import units
from ramphold.method import cell

# psi, MPa, lbf, kN
GEOMETRY = [
    (1000, 6.895, 3141.6, 13.975),
    (2000, 13.790, 6283.2, 27.949),
    (3000, 20.684, 9424.8, 41.924),
    (4000, 27.579, 12566.4, 55.898),
    (5000, 34.474, 15708.0, 69.873),
    (6000, 41.369, 18849.6, 83.847),
    (7000, 48.263, 21991.1, 97.822),
    (8000, 55.158, 25132.7, 111.796),
    (9000, 62.053, 28274.3, 125.771),
    (10000, 68.948, 31415.9, 139.745),
    (12000, 82.737, 37699.1, 167.694),
    (15000, 103.421, 47123.9, 209.618),
]


def test_the_area_is_pi_square_inches():  # recomputed
    area_in2 = cell.area_in2(cell.STANDARD_BORE_IN)

    assert area_in2 == pytest.approx(3.14159265, abs=5e-9)
    assert units.mm2_from_in2(area_in2) / 100 == pytest.approx(20.268299, abs=5e-7)


@pytest.mark.parametrize(("psi", "mpa", "lbf", "kn"), GEOMETRY)
def test_a_stress_is_the_tabled_force(psi, mpa, lbf, kn):  # recomputed
    force_lbf = cell.force_lbf(psi, 2.0)

    assert force_lbf == pytest.approx(lbf, abs=0.05)
    assert units.kn_from_lbf(force_lbf) == pytest.approx(kn, abs=0.0005)
    assert units.parse(f"{mpa}MPa", units.STRESS) == pytest.approx(psi, abs=0.0005 * 145.04)


@pytest.mark.parametrize(("psi", "lbf"), [(row[0], row[2]) for row in GEOMETRY])
def test_a_force_is_the_tabled_stress(psi, lbf):  # recomputed
    assert cell.stress_psi(lbf, 2.0) == pytest.approx(psi, abs=0.05 / math.pi)


def test_two_thousand_psi_a_minute_is_the_tabled_force_rate():  # recomputed
    assert cell.force_lbf(2000, 2.0) == pytest.approx(6283.2, abs=0.05)
    assert cell.force_lbf(2000, 2.0) / 60 == pytest.approx(104.72, abs=0.005)


def test_a_bore_half_as_wide_again_takes_nine_quarters_of_the_force():
    assert cell.force_lbf(4000, 3.0) == pytest.approx(cell.force_lbf(4000, 2.0) * 9 / 4)


def test_a_gauge_read_to_ten_is_driven_to_12570_and_kept_under_12800():
    # common practice, no source
    target_lbf = cell.force_lbf(4000, 2.0)

    assert round(target_lbf, -1) == 12_570
    assert cell.default_ceiling_lbf(target_lbf, cell.force_lbf(15_000, 2.0)) == 12_800


@pytest.mark.parametrize(
    ("target_lbf", "ceiling_lbf"),
    [
        pytest.param(31_415.9, 32_000, id="2 % is 32 044, cut to 50"),
        pytest.param(6_283.2, 6_400, id="2 % is 6 408.9, cut to 50"),
        pytest.param(3_141.6, 3_200, id="2 % is 3 204.4, cut to 50"),
        pytest.param(3_962.0, 4_041, id="cutting to 50 would leave 0.96 %, so to 1"),
        pytest.param(2_450.0, 2_499, id="cutting to 50 would leave nothing, so to 1"),
        pytest.param(1_000.0, 1_020, id="cutting to 50 would leave nothing, so to 1"),
        pytest.param(20.0, 20.4, id="even 1 is too coarse"),
    ],
)
def test_the_ceiling_is_two_per_cent_over_in_steps_a_gauge_shows(target_lbf, ceiling_lbf):
    assert cell.default_ceiling_lbf(target_lbf, 1e6) == pytest.approx(ceiling_lbf)


@given(
    st.floats(min_value=1e-3, max_value=1e6),
    st.floats(min_value=0, max_value=0.1),
)
def test_the_ceiling_is_one_to_two_per_cent_over_and_never_over_the_rating(target_lbf, room):
    rating_lbf = target_lbf * (1 + room)

    ceiling_lbf = cell.default_ceiling_lbf(target_lbf, rating_lbf)

    assert ceiling_lbf <= rating_lbf
    assert ceiling_lbf <= target_lbf * 1.02
    assert ceiling_lbf >= min(target_lbf * 1.01, rating_lbf)


@pytest.mark.parametrize(
    ("bore_in", "usual"), [(1.979, False), (1.98, True), (2.0, True), (2.02, True), (2.021, False)]
)
def test_a_bore_within_two_hundredths_of_an_inch_of_two_is_the_usual_one(bore_in, usual):
    assert cell.is_usual_bore(bore_in) == usual


@pytest.mark.parametrize("bore_in", [0.5, 2.0, 6.0])
def test_a_bore_that_a_crush_cell_may_have_has_no_fault(bore_in):
    assert cell.bore_fault(bore_in) == ""


@pytest.mark.parametrize("bore_in", [0.49, 6.01, 50.8])
def test_a_bore_in_another_unit_is_no_crush_cells(bore_in):
    said = cell.bore_fault(bore_in)
    assert said.startswith(f"a bore of {bore_in:g} in is no crush cell's: expected 0.5 to 6 in")
    assert "(usual: 2 in, 50.8 mm)" in said
