"""`bench.toml` becomes frozen types, or an error that names the file and the key."""

import pytest

from ramphold.daemon.config import load_config
from ramphold.errors import ConfigError

MINIMAL = """
bench = "press-1"
[press]
rating = "50000lbf"
[load]
kind = "indicator"
port = "/dev/load"
capacity = "200kN"
[store]
path = "runs.sqlite3"
[control]
socket = "control.sock"
"""


@pytest.fixture
def bench_toml(tmp_path):
    path = tmp_path / "bench.toml"

    def write(text, **replaced):
        path.write_text(text.format(**replaced) if replaced else text)
        return path

    return write


def test_the_least_configuration_has_a_standard_cell_and_our_default_rules(bench_toml):
    config = load_config(bench_toml(MINIMAL))
    assert (config.cell.bore, config.cell.rating) == (2.0, 15_000.0)
    assert config.rules.band_pct == 2.0
    assert config.balance is None


def test_quantities_are_read_with_their_units(bench_toml):
    config = load_config(bench_toml(MINIMAL))
    # pint 0.25: Quantity(200, "kN").to("lbf")
    assert config.load.capacity == pytest.approx(44_961.79, abs=0.01)


def test_the_weakest_of_press_cell_and_sensor_is_the_rating(bench_toml):
    name, rating_lbf = load_config(bench_toml(MINIMAL)).weakest
    assert (name, round(rating_lbf)) == ("sensor", 44_962)
    name, rating_lbf = load_config(bench_toml(MINIMAL + '[cell]\nrating = "10000psi"\n')).weakest
    assert (name, round(rating_lbf)) == ("cell", 31_416)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('"200kN"', '"200mm"', r"\[load\] capacity: '200mm' is a length: expected a force"),
        ('"200kN"', "200", r"\[load\] capacity: 200 has no unit"),
        ('"indicator"', '"spring"', r"\[load\] kind: Invalid enum value 'spring'"),
        ('port = "/dev/load"', "", r"\[load\] port: missing key"),
        ("bench =", "bank =", r"bank: unknown key"),
        ("[store]", "[rules]\nband = 2\n[store]", r"\[rules\] band: unknown key"),
        ("[store]", "[limits]\ngap_s = -1\n[store]", r"gap_s is -1.*above zero"),
        ("[store]", "[store", "no valid TOML"),
    ],
)
def test_an_error_names_the_file_the_key_and_what_was_expected(bench_toml, old, new, told):
    with pytest.raises(ConfigError, match=rf"bench\.toml.*{told}"):
        load_config(bench_toml(MINIMAL.replace(old, new)))


def test_a_missing_file_and_rubbish_are_told_in_one_line(tmp_path):
    with pytest.raises(ConfigError, match="No such file"):
        load_config(tmp_path / "none.toml")
    rubbish = tmp_path / "rubbish.toml"
    rubbish.write_bytes(bytes(range(256)))
    with pytest.raises(ConfigError, match="no valid TOML") as caught:
        load_config(rubbish)
    assert "\n" not in str(caught.value)
