"""What a library says of an input is told in words that say what was expected."""

import pytest

from ramphold.errors import PortError
from ramphold.instruments import PortSettings, SerialPort


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("demo", "--speed", "x"), "'--speed': 'x' is not a number above 0"),
        (("demo", "--speed", "-1"), "'--speed': -1.0 is not a number above 0"),
        (("demo", "--seed", "1.5"), "'--seed': '1.5' is not a whole number from 0"),
        (("record", "--config", "b", "--seconds", "700"), "700.0 is not a number from 0.1 to 600"),
        (("weigh", "--mass", "1,5", "--by", "KL"), "'1,5' is not a number from 0, with a point"),
        (("weigh", "--specimen", "x", "--by", "KL"), "'x' is not a whole number from 1"),
        (("calc", "force", "--stress", "27,5MPa"), "has a comma: expected a point"),
        (("demo", "--sand", "wet"), "'wet' is not one of 'weak', 'fair', 'strong'"),
    ],
)
def test_a_wrong_option_says_what_was_expected(ramphold, arguments, told):
    ramphold(*arguments).assert_refused(told)


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ("stress_psi;fines_pct\n4000;5,1\n", "separated by ';': expected commas between them"),
        ("stress_psi\tfines_pct\n4000\t5.1\n", "(stress_psi,fines_pct) and points in the numbers"),
        ('stress_psi,fines_pct\n4000,"5,1"\n', "expected one with a point, not a comma, such as"),
    ],
)
def test_a_table_with_commas_in_its_numbers_is_told_what_is_wanted(
    ramphold, csv_file, content, told
):
    ramphold("calc", "class", csv_file(content)).assert_refused(told)


@pytest.mark.parametrize(
    ("port", "told"),
    [
        ("socket://127.0.0.1", "expected a device, or socket://HOST:PORT with a port from 1"),
        ("socket://127.0.0.1:70000", "expected a device, or socket://HOST:PORT with a port from 1"),
        ("bogus://x", "expected a device, or socket://HOST:PORT with a port from 1"),
        ("socket://127.0.0.1:1", "refused; switch the converter on, or correct address and port"),
    ],
)
def test_a_port_on_the_network_that_can_not_be_opened_says_what_to_do(port, told):
    with pytest.raises(PortError) as caught:
        SerialPort(PortSettings(port=port))
    assert told in str(caught.value)
    for leaked in ("Errno", "NoneType", "pyserial", "Could not open"):
        assert leaked not in str(caught.value)


def test_a_demo_in_a_folder_by_a_short_name_writes_whole_paths(ramphold, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert ramphold("demo", "--headless", "--speed", "1000", "--folder", "d").status == 0
    told = (tmp_path / "d/bench.toml").read_text()
    assert f'path = "{tmp_path}/d/runs.sqlite3"' in told
    assert '= "d/' not in told
