"""Bad input: exit status 2, one line that says what was expected and where, no traceback."""

import pytest

SIEVING = "sieve,mass_g\n30,60\n40,35\n50,5\npan,0\n"
SPECIMENS = "stress_psi,fines_pct\n4000,8\n5000,12\n"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((), "Missing option '--stress'"),
        (("--stress", "4000"), "'4000' has no unit: expected a stress such as 4000psi"),
        (("--stress", "12566lbf"), "'12566lbf' is a force: expected a stress"),
        (("--stress", "much"), "'much' is not a stress"),
        (("--stress", "0psi"), "must be a finite stress above zero"),
        (("--stress=-4000psi",), "must be a finite stress above zero"),
        (("--stress", "nanpsi"), "'nanpsi' is not a stress"),
        (("--stress", "1e999psi"), "must be a finite stress above zero"),
        (("--stress", "15001psi"), "a stress of 15001 psi is over the rating: expected 15000 psi"),
        (("--stress", "104MPa"), "is over the rating: expected 15000 psi or less"),
        (("--stress", "4000psi", "--bore", "2"), "'2' has no unit: expected a length such as 2in"),
        (("--stress", "4000psi", "--bore", "2psi"), "'2psi' is a stress: expected a length"),
        (("--stress", "4000psi", "--bore", "0in"), "must be a finite length above zero"),
        (("--stress", "4000psi", "--bore", "50.8in"), "a bore of 50.8 in is no crush cell's"),
        (("--stress", "4000psi", "--bore", "2mm"), "expected 0.5 to 6 in"),
        (("--stress", "4000psi", "--bone", "2in"), "--bone"),
    ],
)
def test_a_force_that_cannot_be_worked_out_is_refused(ramphold, arguments, told):
    ramphold("calc", "force", *arguments).assert_refused(told)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((), "Missing option '--bulk-density'"),
        (("--bulk-density", "heavy"), "expected a number in g/cm3, or 1.60g/cm3 or 100pcf"),
        (("--bulk-density", "0"), "must be a finite density above zero"),
        (("--bulk-density", "-1.6"), "must be a finite density above zero"),
        (("--bulk-density", "inf"), "is not a density"),
        (("--bulk-density", "1.6g"), "'1.6g' is a mass: expected a density"),
        (("--bulk-density", "1600"), "a bulk density of 1600 g/cm3 is no proppant's"),
        (("--bulk-density", "1.6", "--bore", "2"), "'2' has no unit"),
    ],
)
def test_a_charge_that_cannot_be_worked_out_is_refused(ramphold, arguments, told):
    ramphold("calc", "charge", *arguments).assert_refused(told)


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ((), "Missing option '--size'"),
        (("--size", "20-40"), "'20-40' is no size of proppant: expected one of 6/12, 8/16"),
        (("--size", "20/40", "--charge-g", "0"), "must be a finite mass above zero"),
        (("--size", "20/40", "--charge-g", "-100"), "must be a finite mass above zero"),
        (("--size", "20/40", "--charge-g", "nan"), "'nan' is not a mass"),
        (("--size", "20/40", "--charge-g", "100psi"), "'100psi' is a stress: expected a mass"),
    ],
)
def test_a_sieving_with_bad_options_is_refused(ramphold, csv_file, options, told):
    ramphold("calc", "sieve", *options, csv_file(SIEVING)).assert_refused(told)


@pytest.mark.parametrize(
    ("content", "told"),
    [
        pytest.param("", "is empty: expected a CSV file with the header sieve,mass_g", id="empty"),
        pytest.param("mesh,g\n30,60\n", "row 1: the header is 'mesh,g'", id="wrong header"),
        pytest.param("sieve,mass_g\n", "has no rows", id="header only"),
        pytest.param("sieve,mass_g\n30,x\n", "row 2, mass_g: 'x' is not a number", id="text"),
        pytest.param("sieve,mass_g\n30,1\n\n40,nan\n", "row 4, mass_g: 'nan' is not", id="nan"),
        pytest.param("sieve,mass_g\n30,inf\n", "row 2, mass_g: 'inf' is not a finite", id="inf"),
        pytest.param("sieve,mass_g\n30,-1\n", "row 2, mass_g: '-1' is too low", id="negative"),
        pytest.param("sieve,mass_g\n30\n", "row 2: 1 cells, expected 2", id="cell missing"),
        pytest.param("sieve,mass_g\n,1\n", "row 2, sieve: the cell is empty", id="no sieve"),
        pytest.param("sieve,mass_g\n31,1\n", "row 2, sieve: '31' is no sieve", id="unknown sieve"),
        pytest.param("sieve,mass_g\n30,1\n30,2\n", "row 3, sieve: '30' is here twice", id="twice"),
        pytest.param("sieve,mass_g\npan,1\nPan,2\n", "row 3, sieve: 'Pan'", id="pan twice"),
        pytest.param("sieve,mass_g\n30,0\npan,0\n", "every sieve and the pan hold 0 g", id="zero"),
        pytest.param("sieve,mass_g\n30,1e-999\n", "hold 0 g", id="too small for a float"),
        pytest.param("sieve,mass_g\n30,1e308\n40,1e308\n", "too high", id="sum too big"),
        pytest.param(b"sieve,mass_g\n30,\xff\xfe\n", "row 2: not UTF-8 text", id="undecodable"),
        pytest.param(bytes(range(256)), "row 1: a NUL byte", id="binary rubbish"),
    ],
)
def test_a_file_that_is_no_sieving_is_refused_with_its_name(ramphold, csv_file, content, told):
    path = csv_file(content)

    outcome = ramphold("calc", "sieve", "--size", "20/40", path)
    outcome.assert_refused(path, told)
    assert outcome.err.count("input.csv") == 1


@pytest.mark.parametrize(
    ("content", "told"),
    [
        pytest.param("", "expected a CSV file with the header stress_psi,fines_pct", id="empty"),
        pytest.param(SIEVING, "row 1: the header is 'sieve,mass_g'", id="wrong header"),
        pytest.param(SPECIMENS + "0,8\n", "row 4, stress_psi: '0' is too low", id="zero"),
        pytest.param(SPECIMENS + "-1,8\n", "row 4, stress_psi: '-1' is too low", id="negative"),
        pytest.param(SPECIMENS + "4 ksi,8\n", "row 4, stress_psi: '4 ksi' is not", id="a unit"),
        pytest.param(SPECIMENS + "15001,8\n", "expected 15000 or less", id="over the rating"),
        pytest.param(SPECIMENS + "6000,-1\n", "row 4, fines_pct: '-1'", id="negative fines"),
        pytest.param(SPECIMENS + "6000,101\n", "expected 100 or less", id="over 100 %"),
        pytest.param(SPECIMENS + "6000,inf\n", "row 4, fines_pct: 'inf' is not", id="inf"),
        pytest.param(SPECIMENS + "6000,\n", "row 4, fines_pct: the cell is empty", id="no fines"),
        pytest.param(b"\x00" * 40, "row 1: a NUL byte", id="binary rubbish"),
    ],
)
def test_a_file_that_is_no_crush_series_is_refused_with_its_name(ramphold, csv_file, content, told):
    path = csv_file(content)

    ramphold("calc", "class", path).assert_refused(path, told)


@pytest.mark.parametrize("arguments", [("class",), ("sieve", "--size", "20/40")])
def test_a_file_that_is_not_there_is_refused(ramphold, tmp_path, arguments):
    path = tmp_path / "gone.csv"

    ramphold("calc", *arguments, path).assert_refused(f"{path} does not exist")
    ramphold("calc", *arguments, tmp_path).assert_refused(f"{tmp_path} is a folder")
    ramphold("calc", *arguments).assert_refused("Missing argument 'FILE'")


def test_a_file_name_with_line_breaks_is_told_in_one_line(ramphold, csv_file):
    path = csv_file("", name="two\nlines.csv")

    ramphold("calc", "class", path).assert_refused("expected printable text, not U+000A")


def test_an_unknown_calculation_is_refused(ramphold):
    ramphold("calc", "sum").assert_refused("sum")
