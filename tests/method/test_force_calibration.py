import dataclasses
import random

import numpy as np
import pytest

from ramphold.method.force_calibration import calibrate
from ramphold.method.force_points import Run, verify

FORCES = (4000.0, 8000.0, 12_000.0, 16_000.0, 20_000.0, 30_000.0)


def a_bench(shape, noise, *, runs=3, seed=3, forces=FORCES):
    """Runs of a gauge that reads shape(force), with some noise and a zero that wanders."""
    chance = random.Random(seed)
    made = []
    for _ in range(runs):
        zero = chance.uniform(-100, 100)
        rising = tuple((f, zero + shape(f) + chance.gauss(0, noise)) for f in forces)
        made.append(Run(rising=rising, zero_before=zero, zero_after=zero + noise))
    return made


@pytest.fixture(name="load_cell")
def _load_cell(pontius_runs):
    return calibrate([Run(rising=run) for run in pontius_runs], resolution=1e-5, reference_pct=0.0)


def test_the_load_cell_case_is_calibrated_by_a_quadratic(load_cell):
    # from memory: NIST/SEMATECH e-Handbook 4.6.1: the line is rejected, the quadratic accepted
    assert load_cell.line.f_ratio == pytest.approx(214.747, abs=5e-4)
    assert load_cell.quadratic.f_ratio == pytest.approx(0.8107, abs=5e-5)
    curve = load_cell.curve
    # published: NIST StRD Pontius.dat, certified
    assert (curve.c0, curve.c1, curve.c2) == pytest.approx(
        (0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14), rel=1e-13, abs=0
    )
    assert (curve.low_lbf, curve.high_lbf) == (150_000, 3_000_000)
    assert curve.force_lbf(1.239722) == pytest.approx(1_705_106, abs=0.5)


def test_the_load_cell_case_is_as_sure_as_its_published_interval(load_cell):
    # from memory: e-Handbook 4.6.1.8: 1 704 513 to 1 705 698 lb, by scatter and curve alone
    scatter = load_cell.budget(1_705_106).components[1]

    assert scatter.dof == 37
    half_width = 2.0262 * scatter.u  # recomputed: t table, 37 degrees
    assert half_width == pytest.approx((1_705_698 - 1_704_513) / 2, abs=1.0)


def test_the_load_cell_case_is_class_0_5_but_for_its_lowest_forces(load_cell):
    classes = [point.force_class for point in load_cell.points]

    assert classes[1:] == ["0.5"] * 19
    assert load_cell.findings[0] == "2 runs: expected 3 or more"


def test_a_straight_gauge_gets_a_straight_line():
    found = calibrate(a_bench(lambda f: 50.0 * f, 200.0), resolution=1.0, reference_pct=0.1)

    assert found.line.p_value >= 0.05
    assert found.quadratic is None
    assert found.curve.c2 == 0.0
    assert found.curve.c1 == pytest.approx(50.0, rel=1e-3)
    assert found.findings == ()


def test_a_bent_gauge_gets_a_quadratic():
    found = calibrate(
        a_bench(lambda f: 50.0 * f + 1e-4 * f * f, 200.0), resolution=1.0, reference_pct=0.1
    )

    assert found.curve.c2 == pytest.approx(1e-4, rel=0.05)
    assert found.findings == ()


def test_a_gauge_that_no_quadratic_follows_is_said_so():
    found = calibrate(
        a_bench(lambda f: 50.0 * f + 1e-9 * f**3, 20.0), resolution=1.0, reference_pct=0.1
    )

    assert found.findings[0].startswith("even the quadratic does not fit the readings (p = ")


def test_residuals_are_what_the_corrected_readings_have_over_the_applied_forces():
    runs = a_bench(lambda f: 50.0 * f, 200.0)
    found = calibrate(runs, resolution=1.0, reference_pct=0.1)

    force, reading = runs[1].rising[2]
    expected = found.curve.force_lbf(reading - runs[1].zero_before) - force
    assert found.residuals_lbf[1][2] == expected
    assert sum(map(sum, found.residuals_lbf)) == pytest.approx(0.0, abs=1e-6)


def test_the_budget_names_each_source_and_the_applied_force_grows_with_the_load():
    found = calibrate(a_bench(lambda f: 50.0 * f, 200.0), resolution=10.0, reference_pct=0.25)
    low, high = found.budget(4000.0), found.budget(30_000.0)

    assert [part.name for part in low.components] == [
        *("applied force", "curve and scatter of a reading"),
        *("gauge step under load", "gauge step at zero"),
        *("zero return", "reversibility"),
    ]
    assert [round(b.components[0].u, 9) for b in (low, high)] == [10.0, 75.0]
    assert low.components[2].u == pytest.approx(0.2 / 12**0.5, rel=1e-3)
    assert low.components[4].u == pytest.approx(4.0 / 3**0.5, rel=1e-3)
    assert high.expanded > low.expanded


def test_a_gauge_that_reads_more_when_the_load_falls_is_less_sure_by_half_of_it():
    runs = a_bench(lambda f: 50.0 * f, 200.0)
    zero = runs[0].zero_before
    falling = tuple((force, reading + 0.01 * (reading - zero)) for force, reading in runs[0].rising)
    both_ways = [dataclasses.replace(runs[0], falling=falling), *runs[1:]]

    found = calibrate(both_ways, resolution=1.0, reference_pct=0.1)

    assert found.points[0].errors.reversibility_pct == pytest.approx(1.0, rel=0.01)
    # Half of 1 % of 10 000 lbf, either side, of a rectangle.
    assert found.budget(10_000.0).components[5].u == pytest.approx(50 / 3**0.5, rel=0.01)


def test_runs_whose_forces_differ_a_little_are_still_replicates():
    # A hand pump does not stop twice at the same force.
    chance = random.Random(5)
    runs = [
        Run(
            rising=tuple(
                (near := force * chance.uniform(0.995, 1.005), 50.0 * near + chance.gauss(0, 200))
                for force in FORCES
            )
        )
        for _ in range(3)
    ]

    found = calibrate(runs, resolution=1.0, reference_pct=0.1)

    assert (found.line.lack_dof, found.line.pure_dof) == (4, 12)
    assert found.line.replicate_sd == pytest.approx(200, rel=0.4)


def test_most_corrected_readings_lie_within_their_expanded_uncertainty():
    found = calibrate(a_bench(lambda f: 50.0 * f, 200.0, runs=4), resolution=1.0, reference_pct=0.0)
    chance = random.Random(8)
    forces = [chance.uniform(4000, 30_000) for _ in range(400)]
    within = [
        abs(found.curve.force_lbf(50.0 * f + chance.gauss(0, 200.0)) - f) < found.budget(f).expanded
        for f in forces
    ]

    assert 0.93 < sum(within) / len(within) < 0.995


def test_thin_evidence_is_said():
    found = calibrate(
        a_bench(lambda f: 50.0 * f, 200.0, runs=2, forces=FORCES[2:]),
        resolution=20_000.0,
        reference_pct=0.1,
    )

    assert found.findings == (
        "2 runs: expected 3 or more",
        "4 forces: expected 5 or more",
        "the lowest force is 12000 lbf: expected 20% of 30000 lbf or less",
        "12000 lbf reaches no class of ISO 7500-1",
        "16000 lbf reaches no class of ISO 7500-1",
        "20000 lbf reaches no class of ISO 7500-1",
    )


def test_the_zero_return_is_the_greatest_of_the_runs_in_either_direction():
    runs = a_bench(lambda f: 50.0 * f, 20.0)
    off = (3.0, -70.0, 5.0)
    runs = [
        dataclasses.replace(run, zero_after=run.zero_before + by)
        for run, by in zip(runs, off, strict=True)
    ]
    found = calibrate(runs, resolution=1.0, reference_pct=0.1)
    assert found.zero_return == pytest.approx(70.0)


def test_each_run_is_judged_by_a_curve_through_the_others():
    runs = a_bench(lambda f: 50.0 * f, 6000.0)
    found = calibrate(runs, resolution=1.0, reference_pct=0.1)
    # Independently: numpy's line through two runs, its error at each force of the third.
    errors_pct = []
    for left_out, run in enumerate(runs):
        others = [one for at, one in enumerate(runs) if at != left_out]
        x = [force for one in others for force, _ in one.rising]
        y = [reading - one.zero_before for one in others for _, reading in one.rising]
        slope, intercept = np.polyfit(x, y, 1)
        errors_pct.append([
            100 * ((reading - run.zero_before - intercept) / slope - force) / force
            for force, reading in run.rising
        ])  # fmt: skip
    for point, of_runs in zip(found.points, zip(*errors_pct, strict=True), strict=True):
        assert point.errors.error_pct == pytest.approx(sum(of_runs) / 3, abs=1e-6)
        assert point.errors.repeatability_pct == pytest.approx(max(of_runs) - min(of_runs))


def test_the_stated_repeatability_is_that_of_runs_that_the_curve_never_saw():
    """Judged by its own curve, a gauge looks better than its next run will show it."""
    own, stated, next_run = [], [], []
    for seed in range(60):
        *runs, later = a_bench(lambda f: 50.0 * f, 6000.0, runs=4, seed=seed)
        found = calibrate(runs, resolution=1.0, reference_pct=0.1)
        of_own = verify(runs, found.curve, resolution=1.0)
        own.append(of_own[0].errors.repeatability_pct)
        stated.append(found.points[0].errors.repeatability_pct)
        force, reading = later.rising[0]
        seen = found.curve.force_lbf(reading - later.zero_before)
        next_run.append(100 * (seen - force) / force)
    # A range of three results is 1.693 deviations (published tables); the next run's deviation.
    sd = np.std(next_run)
    assert np.mean(own) < np.mean(stated)
    assert np.mean(stated) > 0.85 * 1.693 * sd
