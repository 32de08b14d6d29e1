"""What a person is told when a port can't be opened: one line, the port's name, what to do."""

import errno
import os
import pty
import termios

import pytest

from ramphold.errors import ConfigError, PortError
from ramphold.instruments import PortSettings, SerialPort


def told(port, **settings):
    with pytest.raises(PortError) as caught:
        SerialPort(PortSettings(port=str(port), **settings))
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
    first = SerialPort(PortSettings(port=os.ttyname(theirs)))
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


@pytest.mark.parametrize("framing", ["8N1", "7E1", "7O1", "8N2"])
@pytest.mark.parametrize("handshake", ["none", "lines", "xon/xoff"])
def test_every_usual_setting_opens(framing, handshake):
    ours, theirs = pty.openpty()
    try:
        SerialPort(
            PortSettings(port=os.ttyname(theirs), framing=framing, handshake=handshake, baud=2400)
        ).close()
    finally:
        os.close(ours)
        os.close(theirs)


def test_a_link_that_now_leads_to_another_device_is_told_once_the_old_one_is_still(tmp_path):
    pairs = [pty.openpty(), pty.openpty()]
    link = tmp_path / "load"
    link.symlink_to(os.ttyname(pairs[0][1]))
    port = SerialPort(PortSettings(port=str(link)))
    try:
        link.unlink()
        link.symlink_to(os.ttyname(pairs[1][1]))
        os.write(pairs[0][0], b"x")
        assert port.read() == b"x"
        with pytest.raises(PortError, match="load is another device now: it is opened again"):
            port.read()
    finally:
        port.close()
        for descriptor in (*pairs[0], *pairs[1]):
            os.close(descriptor)


def test_what_passes_a_port_each_way_is_told_to_its_tap():
    ours, theirs = pty.openpty()
    passed = []
    port = SerialPort(PortSettings(port=os.ttyname(theirs)), lambda *part: passed.append(part))
    try:
        port.write(b"SI\r\n")
        os.write(ours, b"S I\r\n")
        while sum(len(data) for way, data in passed if way == "<") < 5:
            port.read()
    finally:
        port.close()
        os.close(ours)
        os.close(theirs)
    assert passed[0] == (">", b"SI\r\n")
    assert b"".join(data for way, data in passed if way == "<") == b"S I\r\n"
