import datetime as dt
import tomllib
from pathlib import Path

import numpy as np
import pytest
from scipy import optimize, stats


@pytest.fixture(scope="module")
def example(hardware: Path) -> dict:
    return tomllib.loads((hardware / "calibration/example.toml").read_text())


@pytest.fixture(scope="module")
def points(example) -> tuple[np.ndarray, np.ndarray]:
    rows = [(p["force"], p["reading"]) for p in example["points"]]
    force, reading = np.array(rows, dtype=float).T
    return force, reading


def test_it_says_in_every_place_that_matters_that_it_is_invented(example, hardware: Path):
    assert (hardware / "calibration/example.toml").read_text().startswith("# Invented:")
    assert example["id"].startswith("EXAMPLE")
    assert example["serial"].startswith("EXAMPLE")
    assert "invented" in example["by"]
    assert "invented" in example["reference"]


def test_it_has_exactly_the_keys_that_the_page_explains(example, hardware: Path, table_under):
    page = (hardware / "calibration/README.md").read_text()
    explained = [
        name.strip(" `")
        for keys, _ in table_under(page, "key", "meaning")
        for name in keys.split(",")
    ]
    assert list(example) == [key for key in explained if key in example]
    assert set(example) == set(explained)


def test_it_falls_due_after_it_was_made(example):
    assert isinstance(example["date"], dt.date)
    assert example["date"] < example["due"]


def test_its_points_are_three_rising_runs_over_a_fifth_to_all_of_the_range(example):
    # from memory: ISO 7500-1:2018 6.4-6.5
    runs: dict[int, list[float]] = {}
    for point in example["points"]:
        runs.setdefault(point["run"], []).append(point["force"])
    assert sorted(runs) == [1, 2, 3]
    for forces in runs.values():
        assert forces == sorted(set(forces))
        assert len(forces) >= 5
        assert min(forces) <= 0.2 * max(forces)


def test_scipy_fits_its_coefficients_and_residual_sd_to_its_points(example, points):
    force, reading = points
    assert example["model"] == "quadratic"
    scale = 1e4  # as NIST advises for Pontius: scale the forces before solving
    design = np.vander(force / scale, 3, increasing=True)
    solved = optimize.lsq_linear(design, reading, tol=1e-14)
    assert solved.x / scale ** np.arange(3) == pytest.approx(example["coefficients"], rel=2e-6)
    sd = np.sqrt(np.sum((reading - design @ solved.x) ** 2) / (len(force) - 3))
    assert sd == pytest.approx(example["residual_sd"], abs=0.006)


def test_a_straight_line_does_not_fit_its_points_and_a_quadratic_does(points):
    """The lack-of-fit test of the e-Handbook's load-cell case, done with scipy's F."""
    force, reading = points
    levels = np.unique(force)
    pure = sum(np.sum((reading[force == f] - reading[force == f].mean()) ** 2) for f in levels)
    for order, fits in ((1, False), (2, True)):
        residual = reading - np.polyval(np.polyfit(force / 1e4, reading, order), force / 1e4)
        df_lack, df_pure = len(levels) - order - 1, len(force) - len(levels)
        f_ratio = ((np.sum(residual**2) - pure) / df_lack) / (pure / df_pure)
        assert (stats.f.sf(f_ratio, df_lack, df_pure) > 0.05) == fits


def test_solved_for_the_force_every_reading_comes_back_within_the_uncertainty(example, points):
    force, reading = points
    c0, c1, c2 = example["coefficients"]
    for true, read in zip(force, reading, strict=True):
        found = optimize.newton(lambda f, r=read: c0 + c1 * f + c2 * f * f - r, (read - c0) / c1)
        assert found == pytest.approx(true, abs=example["expanded_uncertainty"])


def test_its_uncertainty_holds_at_least_the_scatter_and_the_reference(example):
    # GUM: U = k u_c, u_c^2 = sum of squares; the reference's 25 lbf are with k = 2 as well
    scatter_lbf = example["residual_sd"] / example["coefficients"][1]
    k = example["coverage_factor"]
    assert example["expanded_uncertainty"] >= k * np.hypot(scatter_lbf, 25 / 2)
