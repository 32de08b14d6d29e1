import math
import random
import statistics

import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from ramphold.errors import InputError
from ramphold.method.class_evidence import doubted, weigh_class
from ramphold.method.deviation import Deviation
from ramphold.method.log_odds import fines_pct, log_odds
from ramphold.method.precision import Precision, Spread

KNOWN = Spread(sd=0.6, dof=math.inf)
NO_DAYS = Spread(sd=0.0, dof=math.inf)


def own(spread, between=NO_DAYS):
    """The precision of a laboratory in which one day is as the next, unless said otherwise."""
    return Precision(within=spread, between=between)


def series(means_pct, n=3):
    return [(psi, mean) for psi, mean in means_pct.items() for _ in range(n)]


def on_a_curve(limit_psi, stresses_psi, slope=3.0):
    """Three specimens each of a sand that reaches 10 % at a stress, without scatter."""
    odds = {psi: log_odds(10) + slope * math.log(psi / limit_psi) for psi in stresses_psi}
    return series({psi: fines_pct(one) for psi, one in odds.items()})


def gap_pct(mean_pct):
    """How far a mean is under 10 %, on the scale of log-odds and in % near the limit."""
    return 9 * (log_odds(10) - log_odds(mean_pct))


def test_the_worked_case_is_9k_far_beyond_its_spread():
    # common practice, no source: 9.4 % at 9000 psi and 12.5 % at 10 000 psi is 9K
    found = weigh_class(
        series({8000: 7.0, 9000: 9.4, 10_000: 12.5}), laboratory=own(Spread(sd=0.3, dof=30))
    )

    assert found.found.crush_class == "9K"
    assert found.probability("9K") > 0.99
    assert [s.distance_pct for s in found.deciding] == pytest.approx([0.6, -2.5])
    assert found.findings == ()


def test_a_mean_on_the_limit_is_as_likely_over_it_as_under():
    found = weigh_class(on_a_curve(9000, (8000, 9000, 10_000)), laboratory=own(KNOWN))

    assert found.probability("9K") == pytest.approx(0.5, abs=0.02)
    assert found.probability("8K") == pytest.approx(0.5, abs=0.02)
    assert found.findings == ("9K has a probability of 0.50: expected 0.9 or more",)


def test_the_probability_that_a_stress_passes_is_students_t_of_its_distance():
    specimens = [(9000, 9.0), (9000, 9.5), (9000, 10.0)]

    (stress,) = weigh_class(specimens).stresses

    # independent reference: scipy's one-sided test, with the spread of log-odds carried to 10 %
    odds = [math.log(f / (100 - f)) for _, f in specimens]
    u = scipy.stats.tstd(odds) * 9 / math.sqrt(3)
    assert stress.u_pct == pytest.approx(u)
    assert stress.passes == pytest.approx(scipy.stats.t.cdf(gap_pct(9.5) / u, 2), abs=1e-3)
    assert stress.interval_pct == pytest.approx(4.3027 * u, rel=2e-5)


def test_a_known_spread_makes_the_odds_normal():
    found = weigh_class(series({9000: 9.4}, n=4), laboratory=own(KNOWN))

    assert found.spread == KNOWN
    assert found.stresses[0].passes == pytest.approx(
        scipy.stats.norm.cdf(gap_pct(9.4) / 0.3), abs=1e-4
    )


def test_the_spreads_of_series_and_laboratory_are_pooled_by_their_degrees():
    specimens = [(9000, 9.0), (9000, 9.5), (9000, 10.0)]
    alone = weigh_class(specimens).spread

    pooled = weigh_class(specimens, laboratory=own(Spread(sd=0.2, dof=6))).spread

    assert pooled.dof == 8
    assert pooled.sd**2 == pytest.approx((2 * alone.sd**2 + 6 * 0.2**2) / 8)


def test_a_repeat_is_less_likely_to_agree_than_the_class_is_to_be_true():
    found = weigh_class(on_a_curve(9300, (8000, 9000, 10_000)), laboratory=own(KNOWN))

    (sure,) = (odds for odds in found.classes if odds.crush_class == "9K")
    assert 0.5 < sure.repeat < sure.probability


def test_the_chance_of_a_repeat_is_how_often_simulated_repeats_agree():
    # The truth strays from this series as the repeat strays from the truth.
    means, chance = {8000: 8.8, 9000: 9.6, 10_000: 10.9}, random.Random(6)
    found = weigh_class(series(means), laboratory=own(KNOWN))
    u = KNOWN.sd * math.sqrt(2 / 3)

    def again():
        passed = None
        for stress_psi, mean in means.items():
            if chance.gauss(mean, u) > 10:
                return passed
            passed = f"{stress_psi // 1000}K"
        return passed

    drawn = [again() for _ in range(20_000)]
    for odds in found.classes:
        assert drawn.count(odds.crush_class) / len(drawn) == pytest.approx(odds.repeat, abs=0.015)


def test_stresses_within_one_thousand_share_their_class():
    found = weigh_class(series({4000: 9.0, 4500: 9.5, 5000: 11.0}), laboratory=own(KNOWN))

    assert [odds.crush_class for odds in found.classes] == [None, "4K", "5K"]


def test_a_series_that_all_fails_has_no_class_and_one_deciding_stress():
    found = weigh_class(series({4000: 14.0, 5000: 20.0}), laboratory=own(KNOWN))

    assert found.probability(None) > 0.99
    assert [s.stress_psi for s in found.deciding] == [4000]


def test_a_series_that_all_passes_is_decided_by_its_greatest_stress():
    found = weigh_class(series({4000: 4.0, 5000: 6.0}), laboratory=own(KNOWN))

    assert [s.stress_psi for s in found.deciding] == [5000]
    assert [p.stress_psi for p in found.deciding_points] == [5000]


def test_one_specimen_a_stress_tells_no_spread():
    found = weigh_class([(8000, 8.0), (9000, 12.0)])

    assert (found.spread, found.stresses, found.classes) == (None, (), ())
    assert found.findings == ("no stress has two specimens: nothing is known of their spread",)
    assert [p.stress_psi for p in found.deciding_points] == [8000, 9000]
    assert found.deciding == ()


def test_three_specimens_without_fines_are_three_specimens_without_a_known_spread():
    assert weigh_class([(4000, 0.0)] * 3).findings == (
        "no stress has two specimens with fines above zero: nothing is known of their spread",
    )


def test_a_spread_of_three_specimens_is_thin():
    found = weigh_class([(9000, 4.0), (9000, 4.1), (9000, 4.2)])

    assert found.findings == (
        "the spread rests on 2 degrees of freedom: expected 4 or more",
        (
            "nothing is known of the deviation from one day and split to the next: the "
            "probabilities hold for these specimens' day and split alone"
        ),
    )


def test_a_deviation_between_days_is_not_lessened_by_more_specimens_of_one_day():
    few, many = (
        weigh_class(series({9000: 9.4}, n=n), laboratory=own(KNOWN, Spread(sd=0.5, dof=math.inf)))
        for n in (3, 300)
    )
    assert few.stresses[0].u_pct == pytest.approx(math.hypot(0.6 / math.sqrt(3), 0.5))
    assert many.stresses[0].u_pct == pytest.approx(0.5, rel=0.01)
    assert many.stresses[0].passes == pytest.approx(
        scipy.stats.norm.cdf(gap_pct(9.4) / 0.5), abs=0.005
    )


def test_the_stated_probability_is_how_often_it_is_true_over_many_days():
    """A day's true mean deviates by a known amount, and its specimens from that."""
    chance, day, one = random.Random(5), Spread(sd=0.5, dof=math.inf), KNOWN
    truths, stated = [], []
    for _ in range(1600):
        truth = chance.uniform(8.0, 12.0)
        today = chance.gauss(truth, day.sd)
        held = [(9000, chance.gauss(today, one.sd)) for _ in range(3)]
        # The exact odds of a flat prior: the spread of the three is pooled with a known one.
        found = weigh_class(held, laboratory=own(one, day))
        truths.append(truth <= 10)
        stated.append(found.stresses[0].passes)
    for low in (0.1, 0.3, 0.5, 0.7):
        within = [true for true, p in zip(truths, stated, strict=True) if low <= p < low + 0.2]
        said = [p for p in stated if low <= p < low + 0.2]
        assert len(within) > 60
        assert statistics.fmean(within) == pytest.approx(statistics.fmean(said), abs=0.09)


def test_specimens_that_agree_to_the_digit_leave_no_doubt():
    found = weigh_class(series({8000: 9.8, 9000: 10.2}))

    assert found.probability("8K") > 0.999


@given(
    st.dictionaries(
        st.sampled_from([1000, 2000, 4000, 4500, 5000, 8000]), st.floats(0, 100), min_size=1
    ),
    st.floats(0.05, 3.0),
)
def test_the_classes_always_share_out_the_whole_probability(means_pct, sd):
    found = weigh_class(series(means_pct), laboratory=own(Spread(sd=sd, dof=12)))

    assert sum(odds.probability for odds in found.classes) == pytest.approx(1.0)
    assert sum(odds.repeat for odds in found.classes) == pytest.approx(1.0)
    assert all(odds.probability >= -1e-12 for odds in found.classes)
    assert found.probability("12K") == 0.0


@pytest.mark.slow
def test_a_class_said_to_have_a_probability_is_right_about_that_often():
    # Sands whose 10 % stress lies anywhere about 8000 to 10 000 psi; the classes are 7K to 10K.
    chance = random.Random(9)
    expected = right = 0.0
    for _ in range(1500):
        limit_psi = chance.uniform(7500, 10_500)
        true = f"{math.floor(limit_psi / 1000)}K"
        specimens = [
            (psi, fines_pct(log_odds(10) + 3 * math.log(psi / limit_psi) + chance.gauss(0, 0.15)))
            for psi in (7000, 8000, 9000, 10_000, 11_000)
            for _ in range(3)
        ]
        found = weigh_class(specimens)
        expected += found.probability(found.found.crush_class)
        right += found.found.crush_class == true
    assert right / 1500 == pytest.approx(expected / 1500, abs=0.06)


def test_no_specimens_are_refused():
    with pytest.raises(InputError, match="no specimens"):
        weigh_class([])


def test_a_mean_is_as_uncertain_as_its_spread_and_the_sieves_together():
    found = doubted(Spread(sd=0.3, dof=5), Deviation(u=0.4, share=0.2), 4)
    assert found.u == pytest.approx(0.5)
    # Welch-Satterthwaite, JCGM 100:2008 G.4.1: u^4 / (0.3^4 / 5), as the other part is certain.
    assert found.dof == pytest.approx(0.5**4 / (0.3**4 / 5))
    assert found.share == pytest.approx(0.1)
