import pytest

# published: genevainternational.net, page minerals-aggregates/frac-sand, table headed
# ISO 13503-2:2006/API RP19C:2008 section 6: the 20/40 sand, stated in-size 95.5 %
SAND_20_40 = "sieve,mass_g\n25,7.1\n30,17.9\n35,29.4\n40,41.0\n45,4.4\n50,0.0\npan,0.0\n"
CONFORMING = "sieve,mass_g\n30,60\n40,35\n50,5\npan,0\n"


def specimens(*rows):
    return "stress_psi,fines_pct\n" + "".join(f"{psi},{fines}\n" for psi, fines in rows)


# published: JPT, May 2024, doi:10.2118/0524-0036-jpt: passes at 8,000, fails at 9,000 -> 8K
SERIES_8K = specimens(*((psi, fines) for psi, fines in ((8000, 9.1), (9000, 11.2)) for _ in "123"))


def test_force_at_4000_psi_is_12566_lbf_under_a_ceiling_of_12800(ramphold):
    # recomputed geometry; ceiling common practice, no source
    outcome = ramphold("calc", "force", "--stress", "4000psi", "--json")

    assert outcome.status == 0
    assert outcome.json == {
        "area_in2": pytest.approx(3.14159265, abs=5e-9),
        "area_mm2": pytest.approx(2026.8299, abs=5e-5),
        "force_lbf": pytest.approx(12566.4, abs=0.05),
        "force_kn": pytest.approx(55.898, abs=0.0005),
        "ceiling_lbf": 12800.0,
    }


def test_stress_and_bore_may_be_metric(ramphold):  # recomputed
    outcome = ramphold(
        "calc", "force", "--stress", "27.5790291672MPa", "--bore", "50.8mm", "--json"
    )

    assert outcome.json["force_lbf"] == pytest.approx(12566.37, abs=0.01)


def test_the_ceiling_at_the_rating_is_the_rating(ramphold):
    outcome = ramphold("calc", "force", "--stress", "15000psi", "--json")

    assert outcome.json["ceiling_lbf"] == pytest.approx(47_123.9, abs=0.05)  # recomputed


def test_the_force_is_told_in_words_with_its_units(ramphold):
    outcome = ramphold("calc", "force", "--stress", "4000psi")

    assert outcome.out == (
        "area     3.1416 in2   2026.8 mm2\n"
        "force    12566.4 lbf   55.898 kN\n"
        "ceiling  12800 lbf   stay under it\n"
    )


@pytest.mark.parametrize("density", ["1.60", "1.60g/cm3", "1600kg/m3"])
def test_the_charge_for_1_60_is_39_52_grams(ramphold, density):
    # recomputed from the rule, which is from memory: ISO 13503-2:2006 11.5
    outcome = ramphold("calc", "charge", "--bulk-density", density, "--json")

    assert outcome.json == {"charge_g": pytest.approx(39.52)}


def test_the_charge_is_told_to_the_milligram_and_goes_with_the_bore(ramphold):
    outcome = ramphold("calc", "charge", "--bulk-density", "1.60", "--bore", "3in")

    assert outcome.out == "charge  88.920 g\n"


def test_a_sieving_gives_exactly_the_promised_keys(ramphold, csv_file):
    outcome = ramphold("calc", "sieve", "--size", "20/40", csv_file(SAND_20_40), "--json")

    assert outcome.status == 0
    assert outcome.json == {
        "in_size_pct": pytest.approx(95.5, abs=0.15),  # published, stated
        "oversize_pct": 0.0,
        "undersize_pct": 0.0,
        "loss_pct": None,
        "mean_mm": pytest.approx(0.5422, abs=5e-5),  # recomputed
        "median_mm": pytest.approx(0.5153, abs=5e-5),  # recomputed, linear
        "conforms": True,
        "findings": ["No. 45 is not in the stack for 20/40"],
    }


def test_a_sieving_that_does_not_conform_exits_with_1_and_still_tells_its_result(
    ramphold, csv_file
):
    outcome = ramphold("calc", "sieve", "--size", "30/50", csv_file(SAND_20_40), "--json")

    assert (outcome.status, outcome.err) == (1, "")
    assert outcome.json["conforms"] is False
    assert outcome.json["oversize_pct"] == pytest.approx(0.0)


@pytest.mark.parametrize(
    ("charge", "status"), [("100.5", 0), ("100.5g", 0), ("100.6", 1), ("99.6", 0), ("99.4", 1)]
)
def test_a_loss_or_gain_over_half_a_per_cent_of_the_charge_exits_with_1(
    ramphold, csv_file, charge, status
):
    arguments = ("--size", "20/40", "--charge-g", charge, csv_file(CONFORMING))

    assert ramphold("calc", "sieve", *arguments).status == status


def test_a_sieving_is_told_in_words_with_its_findings(ramphold, csv_file):
    arguments = ("--size", "20/40", "--charge-g", "100.7", csv_file(SAND_20_40))

    assert ramphold("calc", "sieve", *arguments).out.splitlines() == [
        "in size     95.59 %    20/40",
        "oversize     0.00 %    on No. 16",
        "undersize    0.00 %    through No. 50",
        "loss         0.89 %    of the charge",
        "mean       0.5422 mm   without coarsest fraction and pan",
        "median     0.5153 mm   linear in the opening",
        "does not conform to 20/40",
        "- 0.89 % lost in sieving: expected 0.5 % or less, this sieving is void",
        "- No. 45 is not in the stack for 20/40",
    ]


def test_a_class_gives_exactly_the_promised_keys(ramphold, csv_file):
    outcome = ramphold("calc", "class", csv_file(SERIES_8K), "--json")

    assert outcome.status == 0
    assert outcome.json == {
        "points": [
            {"stress_psi": 8000.0, "n": 3, "mean_pct": pytest.approx(9.1), "sd_pct": 0.0},
            {"stress_psi": 9000.0, "n": 3, "mean_pct": pytest.approx(11.2), "sd_pct": 0.0},
        ],
        "crush_class": "8K",
        "highest_stress_psi": 8000.0,
        "findings": [],
    }


def test_no_class_is_null_and_no_failure(ramphold, csv_file):
    outcome = ramphold("calc", "class", csv_file(specimens((4000, 12))), "--json")

    assert outcome.status == 0
    assert outcome.json["crush_class"] is None
    assert outcome.json["highest_stress_psi"] is None
    assert outcome.json["points"][0]["sd_pct"] is None


def test_a_class_is_told_as_a_table_and_in_words(ramphold, csv_file):
    text = specimens((9000, 9.3), (9000, 9.4), (9000, 9.5), (10000, 12.5))

    assert ramphold("calc", "class", csv_file(text)).out.splitlines() == [
        "stress psi    n   mean %     sd %  10 % fines",
        "      9000    3     9.40     0.10  within",
        "     10000    1    12.50        -  over",
        "crush class 9K: up to 9000 psi the mean fines are within 10 %",
        "- 10000 psi has n = 1: expected 3 specimens or more",
    ]


def test_no_class_is_told_in_words(ramphold, csv_file):
    outcome = ramphold("calc", "class", csv_file(specimens((4000, 12))))

    assert "no crush class\n- " in outcome.out
    assert "the lowest stress tested, 4000 psi, already makes more than 10 % fines" in outcome.out
