"""What cannot be right is refused, and what is unlike any bench needs a reason, in one line."""

import re

import pytest

from ramphold.daemon.config import load_bench
from ramphold.errors import ConfigError

RIGHT = """\
bench = "press-1"
[press]
rating = "50000lbf"
[cell]
bore = "2in"
rating = "15000psi"
[load]
kind = "indicator"
port = "/dev/ramphold-load"
baud = 9600
capacity = "50000lbf"
[balance]
port = "/dev/ramphold-balance"
profile = "reply-state"
baud = 9600
[calibration]
folder = "{folder}"
[store]
path = "/srv/runs.sqlite3"
[control]
socket = "/run/ramphold/control.sock"
"""

LOOP = """\
kind = "iio"
device = "ads1015"
readings_per_s = 40
capacity = "50000lbf"
[load.transducer]
kind = "loop"
range = "10000psi"
ram_area = "5.16in2"
"""

REFUSED = "refused"
ASKED = "asked"


def section(name, text):
    """The right configuration with a whole section replaced or added."""
    return lambda right: re.sub(rf"\[{name}\][^\[]*", "", right) + f"[{name}]\n{text}\n"


def value(old, new):
    """The right configuration with some text replaced."""

    def changed(right):
        assert old in right
        return right.replace(old, new, 1)

    return changed


def more(text):
    """The right configuration with text at its end."""
    return lambda right: right + text


#: How it is made wrong, what becomes of it, the key that the line names, and what it expected.
IMPLAUSIBLE = [
    (value('"2in"', '"50.8in"'), REFUSED, "[cell] bore", "0.5 to 6 in"),
    (value('"2in"', '"2mm"'), REFUSED, "[cell] bore", "0.5 to 6 in"),
    (value('"2in"', '"50,8mm"'), REFUSED, "[cell] bore", "expected a point"),
    (value('"2in"', "2"), REFUSED, "[cell] bore", "has no unit"),
    (value('"2in"', '"2psi"'), REFUSED, "[cell] bore", "expected a length"),
    (value('"2in"', '"0in"'), REFUSED, "[cell] bore", "above zero"),
    (value('"2in"', '"1.5in"'), ASKED, "[cell] bore", "1.98 to 2.02 in"),
    (value('"2in"', '"2.1in"'), ASKED, "[cell] bore", "1.98 to 2.02 in"),
    (value('"15000psi"', '"15000bar"'), REFUSED, "[cell] rating", "1000 to 50000 psi"),
    (value('"15000psi"', '"150psi"'), REFUSED, "[cell] rating", "1000 to 50000 psi"),
    (value('"15000psi"', '"30000psi"'), ASKED, "[cell] rating", "5000 to 25000 psi"),
    (value('"15000psi"', '"15,000psi"'), REFUSED, "[cell] rating", "expected a point"),
    (
        value('rating = "50000lbf"', 'rating = "50000kN"'),
        REFUSED,
        "[press] rating",
        "500 to 1000000 lbf",
    ),
    (
        value('rating = "50000lbf"', 'rating = "50lbf"'),
        REFUSED,
        "[press] rating",
        "500 to 1000000 lbf",
    ),
    (
        value('rating = "50000lbf"', 'rating = "5000lbf"'),
        ASKED,
        "[press] rating",
        "10000 to 250000 lbf",
    ),
    (
        value('rating = "50000lbf"', 'rating = "100000lbf"'),
        ASKED,
        "[press] rating",
        "can crush the cell, which bears 47124 lbf",
    ),
    (value('rating = "50000lbf"', 'rating = "50000"'), REFUSED, "[press] rating", "has no unit"),
    (
        value('rating = "50000lbf"', 'rating = "50000psi"'),
        REFUSED,
        "[press] rating",
        "expected a force",
    ),
    (
        value('capacity = "50000lbf"', 'capacity = "50000kN"'),
        REFUSED,
        "[load] capacity",
        "500 to 1000000 lbf",
    ),
    (
        value('capacity = "50000lbf"', 'capacity = "200N"'),
        REFUSED,
        "[load] capacity",
        "500 to 1000000 lbf",
    ),
    (
        value('capacity = "50000lbf"', 'capacity = "2000lbf"'),
        ASKED,
        "[load] capacity",
        "10000 to 250000 lbf",
    ),
    (
        value('capacity = "50000lbf"', 'capacity = "200000kgf"'),
        ASKED,
        "[load] capacity",
        "10000 to 250000 lbf",
    ),
    (value("baud = 9600", "baud = 9601"), REFUSED, "[load] baud", "300, 600, 1200"),
    (value("baud = 9600", "baud = 96000"), REFUSED, "[load] baud", "300, 600, 1200"),
    (value("baud = 9600", "baud = -1"), REFUSED, "load", "expected a rate such as 9600"),
    (value("baud = 9600", 'baud = "9600"'), REFUSED, "[load] baud", "a whole number"),
    (value("baud = 9600", 'framing = "7N1"'), REFUSED, "[load] framing", "8N1, 8N2"),
    (value("baud = 9600", 'framing = "9N1"'), REFUSED, "framing", "8N1"),
    (
        value("baud = 9600", 'handshake = "xon"'),
        REFUSED,
        "[load] handshake",
        "lines, none or xon/xoff",
    ),
    (
        value("baud = 9600", "readings_per_s = 100"),
        REFUSED,
        "[load] readings_per_s",
        "9600 baud carry at most 96",
    ),
    (
        value("baud = 9600", "readings_per_s = 0.1"),
        REFUSED,
        "[load] readings_per_s",
        "0.5 to 1000 /s",
    ),
    (
        value("baud = 9600", "baud = 115200\nreadings_per_s = 500"),
        ASKED,
        "[load] readings_per_s",
        "1 to 200 /s",
    ),
    (value("-balance", "-load"), REFUSED, "[balance] port", "a port for each instrument"),
    (
        value("/dev/ramphold-balance", "{folder}/../balance-link"),
        REFUSED,
        "[balance] port",
        "a port for each instrument",
    ),
    (
        lambda right: right.replace("/dev/ramphold-load", "socket://Box:4001").replace(
            "/dev/ramphold-balance", "socket://box:04001"
        ),
        REFUSED,
        "[balance] port",
        "a port for each instrument",
    ),
    (value('"reply-state"', '"mode-letter"'), REFUSED, "[balance] mode", "print key or continuous"),
    (value("[press]", '"a.b" = 1\n[press]'), REFUSED, "a.b", "unknown key"),
    (value("/dev/ramphold-load", ""), REFUSED, "load", "expected a device path or a URL"),
    (value("/dev/ramphold-load", "COM3"), REFUSED, "[load] port", "expected a device such as"),
    (value("/dev/ramphold-load", "ttyUSB0"), REFUSED, "[load] port", "expected a device such as"),
    (value("/dev/ramphold-load", "/dev/ttyUSB0"), ASKED, "[load] port", "a name that stays"),
    (value("/dev/ramphold-load", "/dev/ttyACM1"), ASKED, "[load] port", "a name that stays"),
    (
        value("/dev/ramphold-load", "socket://127.0.0.1"),
        REFUSED,
        "[load] port",
        "socket://HOST:PORT",
    ),
    (value("/dev/ramphold-load", "socket://127.0.0.1:99999"), REFUSED, "[load] port", "1 to 65535"),
    (
        value("/dev/ramphold-load", "http://127.0.0.1:80"),
        REFUSED,
        "[load] port",
        "socket://HOST:PORT",
    ),
    (value('"reply-state"', '"replystate"'), REFUSED, "balance", "expected one of reply-state"),
    (value('bench = "press-1"', 'bench = ""'), REFUSED, "bench", "1 to 64 letters"),
    (value('bench = "press-1"', 'bench = "press/1"'), REFUSED, "bench", "1 to 64 letters"),
    (value('bench = "press-1"', 'bench = "press 1"'), REFUSED, "bench", "1 to 64 letters"),
    (value('bench = "press-1"', 'bench = "Presse-Ä"'), REFUSED, "bench", "1 to 64 letters"),
    (value('bench = "press-1"', f'bench = "{65 * "p"}"'), REFUSED, "bench", "1 to 64 letters"),
    (
        section("calibration", 'folder = "/no/such/folder"'),
        REFUSED,
        "[calibration] folder",
        "make it",
    ),
    (
        section("calibration", 'folder = "calibration"'),
        REFUSED,
        "[calibration] folder",
        "a whole path",
    ),
    (section("worksheet", 'edition = "foo"'), REFUSED, "[worksheet] edition", "ISO 13503-2:2024"),
    (
        section("worksheet", 'edition = "/no/such/edition.toml"'),
        REFUSED,
        "[worksheet] edition",
        "can't be read: No such file",
    ),
    (
        section("worksheet", 'edition = "edition.toml"'),
        REFUSED,
        "[worksheet] edition",
        "a whole path",
    ),
    (
        section("worksheet", 'use = "drinking"'),
        REFUSED,
        "[worksheet] use",
        "fracturing or gravel pack",
    ),
    (
        section("worksheet", 'tests = ["crush", "crush"]'),
        REFUSED,
        "[worksheet] tests",
        "at most once",
    ),
    (section("worksheet", 'tests = ["melting"]'), REFUSED, "[worksheet] tests", "at most once"),
    (
        section("worksheet", "charge_tolerance_g = 10.0"),
        REFUSED,
        "[worksheet] charge_tolerance_g",
        "0.001 to 2 g",
    ),
    (
        section("worksheet", "charge_tolerance_g = 0.5"),
        ASKED,
        "[worksheet] charge_tolerance_g",
        "0.001 to 0.2 g",
    ),
    (
        section("worksheet", "charge_tolerance_g = 0,1"),
        REFUSED,
        "TOML",
        "write a number with a point",
    ),
    (section("worksheet", "guard_band = 9"), REFUSED, "[worksheet] guard_band", "at most 3"),
    (section("rules", "band_pct = 50"), REFUSED, "[rules] band_pct", "0.1 to 20 %"),
    (section("rules", "band_pct = 10"), ASKED, "[rules] band_pct", "0.5 to 5 %"),
    (section("rules", "stale_s = 60"), REFUSED, "[rules] stale_s", "0.1 to 30 s"),
    (section("limits", "rate_pct = 40"), ASKED, "[limits] rate_pct", "1 to 20 %"),
    (section("limits", "hold_mean_pct = 90"), REFUSED, "[limits] hold_mean_pct", "0.1 to 50 %"),
    (section("limits", "gap_s = -1"), REFUSED, "limits", "above zero"),
    (section("store", 'path = "runs.sqlite3"'), REFUSED, "[store] path", "a whole path"),
    (section("store", 'path = "/srv/"'), REFUSED, "[store] path", "the name of a file"),
    (section("store", 'path = "/"'), REFUSED, "[store] path", "the name of a file"),
    (section("control", 'socket = "control.sock"'), REFUSED, "[control] socket", "a whole path"),
    (
        section("control", 'socket = "/srv/runs.sqlite3"'),
        REFUSED,
        "[control] socket",
        "a file for each",
    ),
    (
        section("control", f'socket = "/{120 * "s"}"'),
        REFUSED,
        "[control] socket",
        "at most 107 bytes",
    ),
    (section("laboratory", 'name = " "'), REFUSED, "[laboratory] name", "1 to 200 letters"),
    (
        section("laboratory", 'name = "L"\naddress = "one"'),
        REFUSED,
        "[laboratory] address",
        "a list in brackets",
    ),
    (section("screen", 'first_unit = "bar"'), REFUSED, "[screen] first_unit", "lbf or psi"),
    (section("publish", 'host = "mqtt://broker:1883"'), REFUSED, "[publish] host", "no mqtt://"),
    (section("publish", 'host = ""'), REFUSED, "[publish] host", "a name or an address alone"),
    (section("publish", 'host = "b"\nport = 99999'), REFUSED, "[publish] port", "at most 65535"),
    (section("publish", 'host = "b"\ncertificate = "/c"'), REFUSED, "[publish] key", "or neither"),
    (
        section("load", LOOP.replace("10000psi", "10000bar")),
        REFUSED,
        "[load.transducer] range",
        "100 to 60000 psi",
    ),
    (
        section("load", LOOP.replace("5.16in2", "33.3in2")),
        ASKED,
        "[load.transducer] ram_area",
        "1 to 30 in2",
    ),
    (
        section("load", LOOP.replace("5.16in2", "10.3in2")),
        ASKED,
        "[load] capacity",
        "give 103000 lbf",
    ),
    (
        section("load", LOOP + "shunt_ohm = 250\n"),
        ASKED,
        "[load.transducer] shunt_ohm",
        "20 to 190 ohm",
    ),
    (
        section("load", LOOP.replace("ads1015", "ads1115")),
        REFUSED,
        "[load] device",
        "hx711, ads1015",
    ),
    (
        section("load", LOOP.replace('"ads1015"', '"ads1015"\nchannel = "A0"')),
        REFUSED,
        "[load] channel",
        "voltage0",
    ),
    (
        section("load", 'kind = "bridge"\ncapacity = "50000lbf"\ndata_pin = 13'),
        REFUSED,
        "load",
        "expected two",
    ),
    (
        section("load", 'kind = "spring"\ncapacity = "50000lbf"'),
        REFUSED,
        "[load] kind",
        "indicator, bridge or iio",
    ),
    (
        more('[[unusual]]\nkey = "[cell] bore"\nvalue = "1.5 in"\nreason = "old"\nby = "AB"\n'),
        REFUSED,
        "[[unusual]]",
        "remove it",
    ),
    (
        more('[[unusual]]\nkey = "[cell] bore"\nvalue = "2 in"\nreason = ""\nby = "AB"\n'),
        REFUSED,
        "[[unusual]]",
        "why the value is right",
    ),
]


@pytest.fixture
def written(tmp_path):
    """A function that writes a configuration of a bench whose folders are there."""
    folder = tmp_path / "calibration"
    folder.mkdir()
    (tmp_path / "balance-link").symlink_to("/dev/ramphold-load")
    path = tmp_path / "bench.toml"

    def write(change):
        path.write_text(change(RIGHT).replace("{folder}", str(folder)))
        return path

    return write


def refusal(path):
    with pytest.raises(ConfigError) as caught:
        load_bench(path)
    return str(caught.value)


def test_there_are_more_than_sixty_of_them():
    assert len({change(RIGHT) for change, *_ in IMPLAUSIBLE}) == len(IMPLAUSIBLE) > 60


def test_the_configuration_that_they_are_made_from_is_right(written):
    assert load_bench(written(str)).bench == "press-1"


@pytest.mark.parametrize(("change", "fate", "key", "expected"), IMPLAUSIBLE)
def test_an_implausible_bench_is_refused_or_asked_in_one_line(written, change, fate, key, expected):
    told = refusal(written(change))
    assert told.startswith(str(written(change)))
    assert "\n" not in told
    assert key in told
    assert expected in told
    assert ("[[unusual]] key = " in told) == (fate == ASKED)
    for leaked in ("Expected `", "Invalid ", "enum", "`str`", "Traceback", "Error"):
        assert leaked not in told


@pytest.mark.parametrize("change", [change for change, fate, *_ in IMPLAUSIBLE if fate == ASKED])
def test_what_is_asked_stands_with_the_reasons_that_the_lines_ask_for(written, change):
    reasons, asked = "", []
    while len(asked) < 3:
        try:
            config = load_bench(written(lambda right: change(right) + reasons))  # noqa: B023
            break
        except ConfigError as error:
            asked.append(re.search(r'key = "([^"]+)", value = "([^"]+)"', str(error)).groups())
        key, value = asked[-1]
        reasons += f'[[unusual]]\nkey = "{key}"\nvalue = "{value}"\nreason = "why"\nby = "AB"\n'
    assert config.unusual_words == tuple(f"{key} of {value}: why (AB)" for key, value in asked)


def test_a_reason_covers_the_value_that_it_was_given_for_and_no_other(written):
    kept = '[[unusual]]\nkey = "[cell] bore"\nvalue = "1.5 in"\nreason = "old cell"\nby = "AB"\n'
    told = refusal(written(lambda right: right.replace('"2in"', '"1.6in"') + kept))
    assert "[cell] bore: 1.6 in" in told


def test_how_many_more_there_are_is_said(written):
    change = value('"2in"', '"50.8in"')
    told = refusal(written(lambda right: change(right).replace("9600", "9601")))
    assert "[cell] bore" in told
    assert told.endswith("(and 2 more)")
