import pytest

from ramphold import units
from ramphold.method import cell, charge
from ramphold.method.gravimetric import Material


@pytest.mark.parametrize(
    ("density_g_cm3", "charge_g"), [(1.50, 37.05), (1.55, 38.285), (1.60, 39.52), (1.65, 40.755)]
)
def test_the_charge_is_24_7_cubic_centimetres_of_loose_material(density_g_cm3, charge_g):
    # recomputed from the rule, which is from memory: ISO 13503-2:2006 11.5
    assert charge.by_density_g(density_g_cm3) == pytest.approx(charge_g, abs=1e-9)


def test_the_charge_goes_with_the_area_of_the_bore():
    # the widest cell allowed is 76.2 mm; from memory: ISO 13503-2:2006 11.3
    assert charge.by_density_g(1.60, 3.0) == pytest.approx(39.52 * 9 / 4)


@pytest.mark.parametrize("bore_in", [1.0, 2.0, 3.0])
def test_the_bed_is_as_high_in_every_bore(bore_in):  # recomputed: 1.2187 cm, 0.480 in
    volume_cm3 = charge.by_density_g(1.0, bore_in)
    height_cm = volume_cm3 / (units.mm2_from_in2(cell.area_in2(bore_in)) / 100)

    assert height_cm == pytest.approx(1.2187, abs=5e-5)
    assert height_cm / 2.54 == pytest.approx(0.480, abs=5e-4)


def test_four_pounds_a_square_foot_is_39_58_grams():
    # recomputed from the rule, which is from memory: API RP 56 9.3
    assert charge.by_area_g() == pytest.approx(39.5834, abs=5e-5)


def test_four_pounds_a_square_foot_is_1_953_grams_a_square_centimetre():  # recomputed
    area_cm2 = units.mm2_from_in2(cell.area_in2(3.0)) / 100

    assert charge.by_area_g(3.0) / area_cm2 == pytest.approx(1.952971, abs=5e-7)


def test_the_two_rules_agree_for_a_sand_of_1_6026():  # recomputed
    assert charge.by_density_g(1.6026) == pytest.approx(charge.by_area_g(), abs=0.001)


@pytest.mark.parametrize(
    ("diameter_mm", "density_g_cm3", "mg"),
    [
        (1.0, 1.0, 0.523599),  # pi/6 cubic millimetres of water
        (0.6, 2.65, 0.299708),  # by hand: 0.216 * 0.523599 * 2.65
        (2.0, 2.65, 11.10029),  # eight times the ball of 1 mm
    ],
)
def test_a_grain_is_a_ball_of_its_diameter(diameter_mm, density_g_cm3, mg):
    assert charge.grain_mg(diameter_mm, density_g_cm3) == pytest.approx(mg, rel=1e-5)


def test_every_material_has_a_usual_apparent_density_of_quartz_or_near_it():
    # from memory: quartz has about 2.65 g/cm3; resin is lighter, a light ceramic a little heavier
    densities = charge.APPARENT_DENSITY_G_CM3
    assert densities[Material.SAND] == 2.65
    assert densities[Material.RESIN_COATED] < 2.65 < densities[Material.CERAMIC]
    assert set(densities) == set(Material)
