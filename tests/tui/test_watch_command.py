import sys

import pytest

from ramphold.cli import main

BENCH = """
bench = "bench-a"
[press]
rating = "50000lbf"
[load]
kind = "indicator"
port = "none"
capacity = "50000lbf"
[store]
path = "none.db"
[control]
socket = "{socket}"
"""


@pytest.fixture
def told(monkeypatch, capsys):
    """The exit status and the text on stderr of `ramphold watch` with arguments."""

    def run(*arguments):
        monkeypatch.setattr(sys, "argv", ["ramphold", "watch", *map(str, arguments)])
        with pytest.raises(SystemExit) as end:
            main()
        said = capsys.readouterr()
        assert said.out == ""
        return end.value.code, said.err

    return run


@pytest.mark.parametrize("more", [(), ("--plain",)])
def test_a_socket_nobody_listens_on_is_one_line_before_any_screen_opens(told, tmp_path, more):
    socket = tmp_path / "control.sock"
    status, text = told("--socket", socket, *more)
    assert status == 2
    assert text == (
        f"ramphold: {socket}: no daemon listens there: "
        "start one with `ramphold daemon --config FILE`\n"
    )


def test_the_socket_is_found_in_the_bench_configuration(told, tmp_path):
    config = tmp_path / "bench.toml"
    config.write_text(BENCH.format(socket=tmp_path / "elsewhere.sock"))
    status, text = told("--config", config)
    assert status == 2
    assert "elsewhere.sock: no daemon listens there" in text


def test_a_missing_configuration_is_bad_input(told, tmp_path):
    status, text = told("--config", tmp_path / "bench.toml")
    assert (status, text.count("\n")) == (2, 1)
    assert "bench.toml can't be read" in text


def test_socket_and_configuration_are_not_both_taken(told):
    status, text = told("--socket", "a", "--config", "b")
    assert status == 2
    assert "expected one of them" in text
