"""A certificate's file: what is read, what is refused, and that it reads back as written."""

import datetime as dt
import tomllib
from pathlib import Path

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.errors import InputError
from ramphold.wire import Certificate, CertificatePoint, CertificateResult, read_certificate

EXAMPLE = Path(__file__).parent.parent.parent / "hardware/calibration/example.toml"
TEXT = EXAMPLE.read_text()


def made(**changed):
    held = {
        "id": "C-1",
        "instrument": "load cell",
        "serial": "7",
        "by": "us",
        "reference": "weights",
        "date": dt.date(2026, 11, 25),
        "due": dt.date(2027, 11, 25),
        "unit": "kN",
        "reading_unit": "count",
        "model": "linear",
        "coefficients": (10.0, 2000.0),
        "residual_sd": 3.0,
        "coverage_factor": 2.0,
        "expanded_uncertainty": 0.1,
        "points": (
            CertificatePoint(run=1, force=20.0, reading=40_010.0),
            CertificatePoint(run=1, force=200.0, reading=400_010.0),
        ),
    }
    return Certificate(**(held | changed))


def test_the_example_gives_the_curve_through_its_points():
    curve = read_certificate(TEXT, "example.toml").curve()
    rows = tomllib.loads(TEXT)["points"]
    force, reading = np.array([(row["force"], row["reading"]) for row in rows]).T
    # Its own statement: 25.1 lbf anywhere from the lowest point to the highest.
    assert [curve.force_lbf(one) for one in reading] == pytest.approx(list(force), abs=25.1)
    assert (curve.low_lbf, curve.high_lbf) == (5000.0, 50_000.0)


@pytest.mark.parametrize("unit", ["N", "kN", "kgf", "lbf"])
def test_a_curve_in_any_unit_of_force_gives_pounds_force(unit):
    curve = made(unit=unit).curve()
    force_lbf = pint.Quantity(100, {"kgf": "kgf", "lbf": "lbf"}.get(unit, unit)).to("lbf").magnitude
    assert curve.force_lbf(10 + 2000 * 100) == pytest.approx(force_lbf, rel=1e-12)


def test_a_quadratic_in_newton_gives_the_same_force_in_pounds():
    reading = 10 + 20 * 5e4 - 1e-5 * 5e4**2
    points = (
        CertificatePoint(run=1, force=1e3, reading=0),
        CertificatePoint(run=1, force=1e5, reading=1),
    )
    held = made(unit="N", model="quadratic", coefficients=(10.0, 20.0, -1e-5), points=points)
    force_lbf = pint.Quantity(5e4, "N").to("lbf").magnitude
    assert held.curve().force_lbf(reading) == pytest.approx(force_lbf, rel=1e-12)


@pytest.mark.parametrize(
    ("day", "left"), [("2026-11-25", 365), ("2027-11-25", 0), ("2027-12-01", -6)]
)
def test_the_last_day_in_force_counts(day, left):
    assert made().days_left(dt.date.fromisoformat(day)) == left


@pytest.mark.parametrize(
    ("day", "early"),
    [
        ("2026-11-26", 0),
        ("2026-11-25", 0),
        ("2026-11-24", 0),
        ("2026-11-23", 2),
        ("2026-10-25", 31),
    ],
)
def test_a_day_before_its_date_is_early_unless_it_is_the_one_that_utc_may_lack(day, early):
    assert made().days_early(dt.date.fromisoformat(day)) == early


def test_it_tells_forces_from_masses_and_counts_from_units():
    scale = {"unit": "g", "reading_unit": "g", "coefficients": (0.0, 1.0)}
    assert (made().of_force, made().in_counts) == (True, True)
    assert (made(**scale).of_force, made(**scale).in_counts) == (False, False)


@pytest.mark.parametrize(
    ("unit", "reading_unit", "shown_g", "mass_g"),
    [
        # It shows 0.1 more than 1.002 times the mass: 100.3 for 100.
        ("g", "g", 100.3, 100.0),
        ("kg", "kg", 100_300.0, 100_000.0),
        ("g", "kg", 100_300.0, 100.0),
        ("mg", "g", 100.3, 0.1),
        ("g", "g", 0.1, 0.0),
        ("g", "g", 1.0, 0.898204),  # 0.9 / 1.002, to the microgram
    ],
)
def test_a_balance_is_corrected_by_what_it_showed_of_known_masses(
    unit, reading_unit, shown_g, mass_g
):
    held = made(unit=unit, reading_unit=reading_unit, coefficients=(0.1, 1.002))
    assert held.mass_g(shown_g) == mass_g


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('id = "EXAMPLE-2026-1"', 'id = "../x"', "id is '../x': expected letters"),
        ('unit = "lbf" ', 'unit = "psi" ', "unit is 'psi': expected one of lbf, N, kN, kgf, g"),
        ("[27.7000, 85.8710890, -2.055253e-06]", "[1.0, 2.0]", "2 coefficients: expected 3"),
        ("due = 2027-02-03", "due = 2025-02-03", "due is 2025-02-03, before date"),
        ("85.8710890", "nan", "a number is not finite"),
        ("-2.055253e-06]", "-2.0]", "the calibration curve turns under"),
        (
            'model = "quadratic"',
            'model = "cubic"',
            "x.toml: model: found 'cubic': expected linear or quadratic",
        ),
        ("serial =", "number =", "x.toml: number: unknown key"),
        (
            "force = 5000,",
            'force = "a",',
            r"x.toml: \[points 1\] force: found text in quotes: expected a number",
        ),
        ("points = [", "points = ]", "x.toml is no valid TOML: Invalid value"),
    ],
)
def test_a_file_that_is_no_certificate_names_its_place_and_what_was_expected(old, new, told):
    assert old in TEXT
    with pytest.raises(InputError, match=told) as caught:
        read_certificate(TEXT.replace(old, new), "x.toml")
    assert "\n" not in str(caught.value)


def test_a_certificate_may_be_due_on_its_own_day_and_no_sooner():
    day = dt.date(2026, 11, 25)
    assert made(date=day, due=day).days_left(day) == 0
    with pytest.raises(InputError, match="before date"):
        made(date=day, due=dt.date(2026, 11, 24))


def test_a_balance_is_corrected_by_a_quadratic_too():
    # By hand: it shows 0.1 + 1.002 * 100 + 1e-5 * 100^2 = 100.4 for 100.
    held = made(unit="g", reading_unit="g", model="quadratic", coefficients=(0.1, 1.002, 1e-5))
    assert held.mass_g(100.4) == 100.0


def test_what_an_older_file_leaves_out_is_nothing_and_its_points_were_taken_rising():
    lines = made().text().splitlines(keepends=True)
    left = [one for one in lines if not one.startswith(("zero", "resolution"))]
    held = read_certificate("".join(left), "x.toml")
    assert len(left) == len(lines) - 3
    assert (held.zero, held.zero_return, held.resolution) == (0.0, 0.0, 0.0)
    assert [one.falling for one in held.points] == [False, False]


def test_points_at_one_force_fix_no_range():
    with pytest.raises(InputError, match="points hold fewer than two forces"):
        made(points=(CertificatePoint(run=1, force=5.0, reading=1.0),) * 3)


# TOML has no word for the control characters that it leaves out, but an escape for each.
# What no name may hold is refused: `tests/test_plain_text.py`.
HIDDEN = ["Cc", "Cf", "Cs", "Zl", "Zp", "Cn", "Co"]
WORDS = st.text(st.characters(exclude_categories=HIDDEN), max_size=20)
REAL = st.floats(-1e9, 1e9)


@given(
    instrument=WORDS,
    by=WORDS,
    residual_sd=REAL,
    zero=REAL,
    points=st.lists(
        st.builds(
            CertificatePoint,
            run=st.integers(1, 9),
            force=st.floats(1, 1e6),
            reading=REAL,
            falling=st.booleans(),
        ),
        min_size=2,
        max_size=5,
        unique_by=lambda point: point.force,
    ),
    results=st.lists(
        st.builds(
            CertificateResult,
            force=REAL,
            error_pct=REAL,
            repeatability_pct=REAL,
            resolution_pct=REAL,
            expanded_uncertainty=REAL,
            force_class=st.sampled_from(["0.5", ""]),
        ),
        max_size=3,
    ),
)
def test_any_certificate_reads_back_as_it_was_written(points, results, **changed):
    held = made(points=tuple(points), results=tuple(results), **changed)
    assert read_certificate(held.text(), "x.toml") == held
    # By Python's own reader too: it is TOML.
    assert tomllib.loads(held.text())["by"] == held.by


def test_a_number_of_thousands_of_digits_is_an_error_of_ours():
    with pytest.raises(InputError, match="expected a calibration certificate"):
        read_certificate(f"id = {'9' * 5000}", "a file")
