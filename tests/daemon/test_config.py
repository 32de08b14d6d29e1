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
path = "/srv/runs.sqlite3"
[control]
socket = "/run/control.sock"
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
    name, rating_lbf = load_config(
        bench_toml(MINIMAL.replace("50000", "33000") + '[cell]\nrating = "10000psi"\n')
    ).weakest
    assert (name, round(rating_lbf)) == ("cell", 31_416)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('"200kN"', '"200mm"', r"\[load\] capacity: '200mm' is a length: expected a force"),
        ('"200kN"', "200", r"\[load\] capacity: 200 has no unit"),
        (
            '"indicator"',
            '"spring"',
            r"\[load\] kind: found 'spring': expected indicator, bridge or iio",
        ),
        ('port = "/dev/load"', "", r"\[load\] port: missing key"),
        ("bench =", "bank =", r"bank: unknown key"),
        ("[store]", '[cell]\nkind = "x"\n[store]', r"\[cell\] kind: unknown key$"),
        ("[store]", "[rules]\nband = 2\n[store]", r"\[rules\] band: unknown key"),
        ("[store]", "[limits]\ngap_s = -1\n[store]", r"gap_s is -1.*above zero"),
        ("[store]", "[store", "no valid TOML"),
    ],
)
def test_an_error_names_the_file_the_key_and_what_was_expected(bench_toml, old, new, told):
    with pytest.raises(ConfigError, match=rf"bench\.toml.*{told}"):
        load_config(bench_toml(MINIMAL.replace(old, new)))


def load(keys):
    """The least configuration with another load."""
    first, _, rest = MINIMAL.partition("[load]")
    return f"{first}[load]\n{keys}\n[store]{rest.partition('[store]')[2]}"


def test_a_port_may_have_a_handshake(bench_toml):
    serial = 'kind = "indicator"\nport = "/dev/p"\ncapacity = "200kN"\nhandshake = '
    assert load_config(bench_toml(load(f'{serial}"lines"'))).load.handshake == "lines"
    with pytest.raises(ConfigError, match=r"\[load\] handshake: found 'hardware': expected"):
        load_config(bench_toml(load(f'{serial}"hardware"')))


def test_a_load_without_a_kind_is_told(bench_toml):
    with pytest.raises(ConfigError, match=r"\[load\] kind: missing key: expected indicator, b"):
        load_config(bench_toml(load('capacity = "200kN"')))


def test_a_bridge_converter_is_where_the_wiring_drawing_has_it_unless_told_otherwise(bench_toml):
    config = load_config(bench_toml(load('kind = "bridge"\ncapacity = "200kN"'))).load
    # hardware/README.md: data on GPIO5 (pin 29), clock on GPIO13 (pin 33)
    assert (config.data_pin, config.clock_pin, config.gain) == (5, 13, 128)
    assert config.place == "bridge on GPIO 5 and 13"


LOOP = """kind = "iio"
capacity = "200kN"
device = "ads1015"
readings_per_s = 40
[load.transducer]
kind = "loop"
range = "70MPa"
ram_area = "33.3cm2"
"""


def test_a_pressure_transducer_is_read_with_its_units(bench_toml):
    transducer = load_config(bench_toml(load(LOOP))).load.transducer
    # pint 0.25: Quantity(70, "MPa").to("psi"), Quantity(33.3, "cm^2").to("in^2")
    assert transducer.range == pytest.approx(10_152.64, abs=0.01)
    assert transducer.ram_area == pytest.approx(5.161510, abs=1e-6)
    assert transducer.shunt_ohm == 100.0


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ('kind = "bridge"\ncapacity = "200kN"\nport = "x"', r"\[load\] port: unknown key"),
        (
            'kind = "bridge"\ncapacity = "200kN"\ngain = 100',
            r"\[load\] gain: found 100: expected 32, 64 or 128",
        ),
        ('kind = "bridge"\ncapacity = "200kN"\ndata_pin = 13', "are both 13: expected two"),
        (
            'kind = "bridge"\ncapacity = "200kN"\nclock_pin = 28',
            "is 28: expected a GPIO from 0 to 27",
        ),
        ('kind = "bridge"\ncapacity = "200kN"\nreadings_per_s = 0', "load: readings_per_s is 0"),
        ('kind = "iio"\ncapacity = "200kN"\ngain = 32', "load: .* gain is 32: expected 128 or"),
        (
            LOOP.replace('"loop"', '"wire"'),
            r"\[load\] \[transducer\] kind: found 'wire': expected loop or ratio",
        ),
        (LOOP.replace("ram_area", "area"), r"\[load\] \[transducer\] area: unknown key"),
        (
            LOOP.replace('"33.3cm2"', '"33.3cm"'),
            "'33.3cm' is a length: expected a piston area such",
        ),
        (LOOP + "shunt_ohm = 0\n", "the loop's shunt is 0 ohm: expected a finite value above zero"),
    ],
)
def test_a_load_that_is_not_right_names_its_key(bench_toml, keys, told):
    with pytest.raises(ConfigError, match=rf"bench\.toml.*{told}") as caught:
        load_config(bench_toml(load(keys)))
    assert "\n" not in str(caught.value)


BALANCE = """
[balance]
port = "/dev/balance"
profile = "custom"
unit = "mg"
[balance.custom]
pattern = '(?P<value>[-+ 0-9.]+)(?P<state>.?)'
stable = "="
query = "M\\r\\n"
"""


def test_a_balance_may_have_a_shape_of_its_own(bench_toml):
    balance = load_config(bench_toml(MINIMAL + BALANCE)).balance
    shape = balance.shape()
    assert (shape.query, shape.bare_unit, shape.tells_rest) == (b"M\r\n", "mg", True)
    assert shape.read(b" 39520=").number == (39520, 0)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("[-+ 0-9.]+)", "[-+ 0-9.]+", r"balance: pattern is no regular expression: missing \)"),
        ("[-+ 0-9.]+)", "(a+)+)", r"balance: pattern could take too long"),
        ('"mg"', '"oz"', r"balance: unit is 'oz': expected one of g, mg"),
        ('"custom"', '"state-comma"', r"profile is 'state-comma' beside \[balance.custom\]"),
        ('profile = "custom"\nunit = "mg"', 'profile = "x"', r"'x' beside \[balance.custom\]"),
        ("stable", "steady", r"\[balance\] \[custom\] steady: unknown key"),
        ('unit = "mg"', 'mode = "often"', r"\[balance\] mode: found 'often': expected continuous"),
    ],
)
def test_a_balance_that_is_not_right_names_what_was_expected(bench_toml, old, new, told):
    with pytest.raises(ConfigError, match=told):
        load_config(bench_toml(MINIMAL + BALANCE.replace(old, new)))


def test_a_custom_balance_without_its_section_and_an_unknown_shape_are_told(bench_toml):
    custom = BALANCE.partition("[balance.custom]")[0]
    with pytest.raises(ConfigError, match=r"expected a section \[balance.custom\]"):
        load_config(bench_toml(MINIMAL + custom))
    with pytest.raises(ConfigError, match="unknown line profile 'x': expected one of reply-state"):
        load_config(bench_toml(MINIMAL + custom.replace('"custom"\nunit = "mg"', '"x"')))


def test_an_indicator_whose_lines_may_lack_a_unit_has_to_say_it(bench_toml):
    keys = 'kind = "indicator"\nport = "/dev/p"\ncapacity = "200kN"\nprofile = "unit-at-rest"'
    with pytest.raises(ConfigError, match=r"load: .*without its unit: expected unit, one of N"):
        load_config(bench_toml(load(keys)))
    assert load_config(bench_toml(load(keys + '\nunit = "kN"'))).load.shape().bare_unit == "kN"


def test_a_missing_file_and_rubbish_are_told_in_one_line(tmp_path):
    with pytest.raises(ConfigError, match="No such file"):
        load_config(tmp_path / "none.toml")
    rubbish = tmp_path / "rubbish.toml"
    rubbish.write_bytes(bytes(range(256)))
    with pytest.raises(ConfigError, match="no valid TOML") as caught:
        load_config(rubbish)
    assert "\n" not in str(caught.value)


def test_deep_nesting_is_an_error_of_ours(tmp_path):
    path = tmp_path / "bench.toml"
    path.write_bytes(b"bench = " + b"[" * 20_000)
    with pytest.raises(ConfigError, match=r"bench\.toml is no valid TOML"):
        load_config(path)
