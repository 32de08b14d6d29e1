"""What a terminal would obey is refused at each door, and shown on the way out.

The categories are those of the Unicode standard; the sequences are common practice, no source.
"""

import io
import os
import pty
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.control.methods import METHODS
from ramphold.errors import ConfigError, InputError
from ramphold.plain_text import VisibleStream, check_plain, hidden, visible
from ramphold.publish.broker_config import BrokerConfig
from ramphold.toml_file import read_toml
from ramphold.wire import read_certificate

#: Title and clipboard of a terminal, NUL, bidirectional override and isolate, zero width, C1, line.
EVIL = [
    "\x1b]0;owned\x07", "\x1b[2J", "a\0b", "26\u202e7140", "\u2066x\u2069", "26\u200b-1",
    "\x9b31m", "\x7f", "one\ntwo", "one\ttwo", "\u2028", "\ufeff26", "\ud800", "\ue000",
]  # fmt: skip
GOOD = ["26-0417", "Größe 20/40", "Śląsk", "砂", "رمل", "pit 3, 5 °C", "10 % ± 2", "μ"]


@pytest.mark.parametrize("text", EVIL)
def test_what_a_terminal_obeys_is_found_and_shown(text):
    assert hidden(text)
    assert not hidden(visible(text))
    assert f"U+{ord(hidden(text)):04X}" in visible(text)


@pytest.mark.parametrize("text", GOOD)
def test_names_of_any_script_are_as_they_are(text):
    assert not hidden(text)
    assert visible(text) == text
    check_plain({text: [text]}, "here")


@given(st.text())
def test_what_is_shown_of_any_text_is_printable(text):
    assert not hidden(visible(text))


@pytest.mark.parametrize("text", EVIL)
@pytest.mark.parametrize("method", [one for one in METHODS.values() if one.needs_initials],
                         ids=lambda one: one.name)  # fmt: skip
def test_no_act_takes_it_in_any_of_its_texts(method, text):
    schema = dict.fromkeys(method.params.__struct_fields__, "x")
    for field in schema:
        given_params = {"operator": "KL", field: text}
        if (method.name, field) == ("take_certificate", "text") and hidden(text) in "\n\t":
            continue
        with pytest.raises(InputError) as refused:
            method.read_params(given_params)
        assert not hidden(str(refused.value))


def test_a_name_with_it_is_refused_by_its_character():
    method = METHODS["add_sample"]
    params = {"operator": "KL", "client_reference": "pit 3", "size": "20/40"}
    for text in EVIL:
        with pytest.raises(InputError, match="expected printable text, not U"):
            method.read_params(params | {"laboratory_number": f"26{text}"})
    for text in GOOD:
        assert method.read_params(params | {"laboratory_number": text})


def test_a_configuration_with_it_is_refused(tmp_path):
    path = tmp_path / "bench.toml"
    path.write_text('host = "lab\\u001b[2J"\n')
    with pytest.raises(ConfigError, match=r"bench\.toml.*expected printable text, not U\+001B"):
        read_toml(path, BrokerConfig)


def test_a_certificate_with_it_is_refused():
    text = (
        'id = "C-1"\ninstrument = "load cell"\nserial = "7\\u202e"\nby = "us"\n'
        'reference = "weights"\ndate = 2026-11-01\ndue = 2027-11-01\nunit = "lbf"\n'
        'reading_unit = "lbf"\nmodel = "linear"\ncoefficients = [0.0, 2.0]\nresidual_sd = 3.0\n'
        "coverage_factor = 2.0\nexpanded_uncertainty = 25.0\n"
        "points = [{run = 1, force = 1.0, reading = 2.0}, {run = 1, force = 2.0, reading = 4.0}]\n"
    )
    with pytest.raises(InputError, match=r"not U\+202E"):
        read_certificate(text, "here")
    assert read_certificate(text.replace("\\u202e", ""), "here").serial == "7"


def test_what_goes_to_a_terminal_moves_no_cursor_and_keeps_its_lines():
    terminal = io.StringIO()
    stream = VisibleStream(terminal)
    stream.write("26\x1b[2J\n")
    stream.writelines(["a\tb\n", "\u202e\n"])
    assert terminal.getvalue() == "26‹U+001B›[2J\na\tb\n‹U+202E›\n"  # noqa: RUF001
    assert stream.isatty() is False


def test_the_command_line_refuses_it_and_its_terminal_does_not_see_it():
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "ramphold.cli", "report", "26\x1b]0;x\x07", "--out", "."]
    done = subprocess.run(command, check=False, stdout=theirs, stderr=theirs)
    os.close(theirs)
    said = os.read(ours, 4096)
    os.close(ours)
    assert done.returncode == 2
    assert b"expected printable text, not U+001B" in said
    assert b"\x1b" not in said
