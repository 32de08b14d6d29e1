import pytest

from ramphold.errors import InputError
from ramphold.method import editions, limits, sieves
from ramphold.method.editions import EDITIONS

PRACTICES = ["API RP 56", "API RP 58", "API RP 60"]
STANDARDS = ["ISO 13503-2:2006", "API RP 19C:2008", "API STD 19C:2018", "ISO 13503-2:2024"]


def test_every_edition_is_known_by_its_name():
    assert list(EDITIONS) == [*PRACTICES, *STANDARDS]
    assert all(editions.find_edition(f" {name} ").name == name for name in EDITIONS)


def test_an_unknown_edition_is_refused_with_those_there_are():
    with pytest.raises(InputError, match=r"'RP 99' is no edition .*API RP 56, API RP 58"):
        editions.find_edition("RP 99")


# from memory: API RP 56 9.3 (one minute), ISO 13503-2:2006 cl. 11 (2000 psi/min); the seconds and
# rates are recomputed
@pytest.mark.parametrize(
    ("psi", "ramp_s", "older_psi_min"),
    [
        (1000, 30, 1000),
        (2000, 60, 2000),
        (3000, 90, 3000),
        (4000, 120, 4000),
        (5000, 150, 5000),
        (6000, 180, 6000),
        (7000, 210, 7000),
        (8000, 240, 8000),
        (9000, 270, 9000),
        (10000, 300, 10000),
        (12000, 360, 12000),
        (15000, 450, 15000),
    ],
)
def test_the_ramp_is_at_one_rate_or_in_one_minute(psi, ramp_s, older_psi_min):
    for name in STANDARDS:
        assert psi / EDITIONS[name].ramp.rate_to(psi) * 60 == pytest.approx(ramp_s)
    for name in PRACTICES:
        assert EDITIONS[name].ramp.rate_to(psi) == pytest.approx(older_psi_min)


@pytest.mark.parametrize("name", EDITIONS)
def test_every_edition_holds_two_minutes_sieves_ten_and_asks_for_three(name):
    # from memory: API RP 56 9.3, ISO 13503-2:2006 cl. 11
    edition = EDITIONS[name]

    assert (edition.hold_s, edition.sieve_s, edition.replicates) == (120, 600, 3)


def test_the_older_practices_charge_by_area_and_the_standards_by_density():
    # recomputed from rules that are from memory: API RP 56 9.3, ISO 13503-2:2006 11.5
    for name in PRACTICES:
        assert EDITIONS[name].charge_g(1.50, 2.0) == pytest.approx(39.5834, abs=5e-5)
    for name in STANDARDS:
        assert EDITIONS[name].charge_g(1.50, 2.0) == pytest.approx(37.05)


def test_only_the_standards_have_crush_classes():
    assert {name for name in EDITIONS if EDITIONS[name].class_fines_pct is not None} == {*STANDARDS}
    assert all(EDITIONS[name].class_fines_pct == 10 for name in STANDARDS)  # from memory: 11.5


def test_only_the_sand_practice_suggests_a_stress_by_size_and_each_size_has_a_stack():
    assert [name for name in EDITIONS if EDITIONS[name].crush] == ["API RP 56"]
    assert EDITIONS["API RP 56"].crush.keys() <= sieves.SIZES.keys()


def test_gravel_pack_has_limits_of_its_own():  # from memory: ISO 13503-2:2006 6.6
    assert editions.CURRENT.sieving["fracturing"] == limits.FRACTURING
    assert editions.CURRENT.sieving["gravel pack"] == limits.GRAVEL_PACK
    assert list(EDITIONS["API RP 58"].sieving) == ["gravel pack"]
