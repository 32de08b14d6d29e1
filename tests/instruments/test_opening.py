"""What a person is told when a port can't be opened: one line, the port's name, what to do."""

import errno
import os
import pty
import termios

import pytest

from ramphold.errors import ConfigError, PortError
from ramphold.instruments import PortSettings, open_port


def told(port, **settings):
    with pytest.raises(PortError) as caught:
        open_port(PortSettings(port=str(port), **settings))
    text = str(caught.value)
    assert "\n" not in text
    assert text.startswith(str(port))
    return text


def test_a_port_that_is_not_there(tmp_path):
    assert "no such port; plug it in" in told(tmp_path / "load")


def test_a_file_that_is_no_port(tmp_path):
    path = tmp_path / "notes.txt"
    path.write_text("x")
    assert "expected a serial port" in told(path)


def test_a_folder(tmp_path):
    assert "expected a serial port" in told(tmp_path)


def test_a_port_that_another_program_holds():
    ours, theirs = pty.openpty()
    first = open_port(PortSettings(port=os.ttyname(theirs)))
    try:
        assert "another program holds it" in told(os.ttyname(theirs))
    finally:
        first.close()
        os.close(ours)
        os.close(theirs)


def test_a_terminal_whose_other_end_is_gone():
    ours, theirs = pty.openpty()
    name = os.ttyname(theirs)
    os.close(ours)
    told(name)
    os.close(theirs)


def test_a_terminal_that_dies_while_it_is_set_up(monkeypatch):
    def dies(*_):
        raise termios.error(errno.EIO, "Input/output error")

    monkeypatch.setattr(termios, "tcflush", dies)
    ours, theirs = pty.openpty()
    assert "Input/output error" in told(os.ttyname(theirs))
    os.close(ours)
    os.close(theirs)


def test_a_network_port_that_nobody_listens_on():
    assert "refused" in told("socket://127.0.0.1:1")


@pytest.mark.parametrize("url", ["carrier://pigeon", "socket://nowhere", "socket://x:99999"])
def test_a_url_that_means_nothing(url):
    assert "expected a" in told(url)


@pytest.mark.parametrize(
    ("settings", "text"),
    [
        ({"port": ""}, "name is empty"),
        ({"port": "p", "baud": 0}, "p: baud is 0"),
        ({"port": "p", "framing": "9N1"}, "p: framing is '9N1': expected 8N1"),
    ],
)
def test_settings_that_no_port_has_are_refused_when_built(settings, text):
    with pytest.raises(ConfigError, match=text):
        PortSettings(**settings)


def test_an_unknown_backend_is_refused_with_the_known_ones():
    with pytest.raises(ConfigError, match="p: unknown backend 'x': expected one of serial"):
        open_port(PortSettings(port="p", backend="x"))


@pytest.mark.parametrize("framing", ["8N1", "7E1", "7O1", "8N2"])
@pytest.mark.parametrize("handshake", ["none", "lines", "xon/xoff"])
def test_every_usual_setting_opens(framing, handshake):
    ours, theirs = pty.openpty()
    try:
        open_port(
            PortSettings(port=os.ttyname(theirs), framing=framing, handshake=handshake, baud=2400)
        ).close()
    finally:
        os.close(ours)
        os.close(theirs)
