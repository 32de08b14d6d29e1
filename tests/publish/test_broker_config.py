"""A password that others could read is not used."""

import pytest

from ramphold.errors import ConfigError
from ramphold.publish.broker_config import BrokerConfig


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "password"
    path.touch(mode=0o600)
    path.write_text("open sesame\nsecond line\n")
    return path


def password(path, host="localhost", **what):
    return BrokerConfig(host=host, password_file=str(path), **what).password()


def test_the_password_is_the_first_line_of_its_file(file):
    assert password(file) == "open sesame"
    assert password("") is None


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o660, 0o610])
def test_a_file_that_others_may_use_is_refused(file, mode):
    file.chmod(mode)
    with pytest.raises(ConfigError, match="chmod 600"):
        password(file)


def test_a_file_that_is_missing_or_empty_is_named(file, tmp_path):
    with pytest.raises(ConfigError, match="nowhere"):
        password(tmp_path / "nowhere")
    file.write_bytes(b"")
    with pytest.raises(ConfigError, match="first line"):
        password(file)
    file.write_bytes(b"\xff\n")
    with pytest.raises(ConfigError, match="expected a file"):
        password(file)


@pytest.mark.parametrize("host", ["localhost", "127.0.0.1", "127.3.2.1", "::1"])
def test_without_tls_a_password_goes_to_this_machine(file, host):
    assert password(file, host) == "open sesame"


@pytest.mark.parametrize("host", ["lab.example", "192.0.2.7", "localhost.example", "2001:db8::1"])
def test_to_another_machine_a_password_goes_over_tls_only(file, host):
    with pytest.raises(ConfigError, match="over TLS only"):
        password(file, host)
    assert password(file, host, ca="authority.crt") == "open sesame"
