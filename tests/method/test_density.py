import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold import units
from ramphold.errors import InputError
from ramphold.method.density import (
    bulk_density_g_cm3,
    cylinder_volume_cm3,
    water_density_g_cm3,
)

# from memory: handbook tables of water without air, kg/m3 (CRC Handbook, standard density)
WATER_KG_M3 = {
    0: 999.843,
    4: 999.975,
    10: 999.703,
    15: 999.103,
    20: 998.207,
    25: 997.048,
    30: 995.650,
    40: 992.215,
}

# from memory: ISO 8655-6 table of Z, ml of water per g weighed in air, at 101.3 kPa
Z_ML_G = {15.0: 1.0020, 20.0: 1.0029, 25.0: 1.0040, 30.0: 1.0054}


@pytest.mark.parametrize(("temp_c", "kg_m3"), WATER_KG_M3.items())
def test_water_is_as_dense_as_the_handbook_says(temp_c, kg_m3):
    assert 1000 * water_density_g_cm3(temp_c) == pytest.approx(kg_m3, abs=0.003)


@given(st.floats(0, 40))
def test_water_is_as_dense_as_an_older_formula_has_it(temp_c):
    # published: Kell 1975, J. Chem. Eng. Data 20, 97 (coefficients from memory)
    powers = (999.83952, 16.945176, -7.9870401e-3, -46.170461e-6, 105.56302e-9, -280.54253e-12)
    kell = sum(c * temp_c**k for k, c in enumerate(powers)) / (1 + 16.879850e-3 * temp_c)

    assert 1000 * water_density_g_cm3(temp_c) == pytest.approx(kell, abs=0.005)


def test_water_is_densest_near_4_degrees():
    densest = max(range(401), key=lambda tenth: water_density_g_cm3(tenth / 10))

    assert densest == 40


@pytest.mark.parametrize(("temp_c", "factor"), Z_ML_G.items())
def test_a_gram_of_water_weighed_in_air_fills_what_the_pipette_standard_says(temp_c, factor):
    assert cylinder_volume_cm3(1.0, temp_c) == pytest.approx(factor, abs=6e-5)


def test_a_hundred_cubic_centimetres_hold_99_7_g_of_water_at_20_degrees():
    assert cylinder_volume_cm3(99.715, 20.0) == pytest.approx(100.0, abs=0.005)


def test_bulk_density_is_mass_over_volume():
    assert bulk_density_g_cm3(160.0, 100.0) == 1.6


def test_the_published_bulk_densities_agree_between_their_units():
    # published: North Dakota Geological Survey study of 2018 samples: 77.2 pcf; recomputed 1.2366
    density = bulk_density_g_cm3(123.66, 100.0)

    assert density / units.parse("1 pcf", units.DENSITY) == pytest.approx(77.2, abs=0.005)


@pytest.mark.parametrize("temp_c", [-0.1, 40.1, math.nan])
def test_water_that_is_ice_or_hot_is_refused(temp_c):
    with pytest.raises(InputError, match="expected 0 to 40 C"):
        water_density_g_cm3(temp_c)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_masses_and_volumes_that_are_none_are_refused(bad):
    with pytest.raises(InputError, match=r"the water weighs .* expected a number above zero"):
        cylinder_volume_cm3(bad, 20.0)
    with pytest.raises(InputError, match=r"the proppant weighs .* expected a number above zero"):
        bulk_density_g_cm3(bad, 100.0)
    with pytest.raises(InputError, match=r"the cylinder holds .* expected a number above zero"):
        bulk_density_g_cm3(160.0, bad)
