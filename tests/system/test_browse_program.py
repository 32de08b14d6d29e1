"""`ramphold browse` as a program: it tells where it listens, serves, and ends when told to."""

import contextlib
import signal
import socket
import subprocess
import sys

import httpx
import pytest

from ramphold.cli import cli
from ramphold.collector.archive import open_archive
from ramphold.errors import RampholdError

PATIENCE_S = 20


@pytest.fixture
def archive(tmp_path):
    path = tmp_path / "archive.db"
    open_archive(str(path)).close()
    return path


def start(*given):
    return subprocess.Popen(
        [sys.executable, "-m", "ramphold.cli", "browse", *map(str, given)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


@contextlib.contextmanager
def browsing(*given, how=signal.SIGTERM):
    """Its address, while it serves; it ends by itself on a signal and says nothing else."""
    with start(*given) as process:
        try:
            yield process.stdout.readline().strip().removeprefix("the laboratory's page: ")
        finally:
            process.send_signal(how)
            out, err = process.communicate(timeout=PATIENCE_S)
        assert (process.returncode, out, err) == (0, "", "")


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT])
def test_it_serves_where_it_says_until_it_is_told_to_end(archive, how):
    with browsing("--archive", archive, "--port", 0, how=how) as url:
        assert url.startswith("http://127.0.0.1:")
        with httpx.Client(base_url=url, follow_redirects=True, timeout=PATIENCE_S) as client:
            answer = client.get("/")
            assert answer.url == f"{url}laboratory"
            assert "No bench has sent anything yet." in answer.text
            assert answer.headers["content-security-policy"].startswith("default-src 'self'")
            assert "server" not in answer.headers
            assert client.post("/laboratory", data={"x": "1"}).status_code == 405
            answer = client.head("/laboratory/samples")
            assert (answer.status_code, answer.content) == (200, b"")


def test_a_configuration_is_followed_and_the_command_line_goes_before_it(archive, tmp_path):
    config = tmp_path / "browse.toml"
    config.write_text(f'archive = "{archive}"\nport = 1\nuser_header = "X-Remote-User"\n')
    with browsing("--config", config, "--port", 0) as url:
        page = f"{url}laboratory"
        assert httpx.get(page, timeout=PATIENCE_S).status_code == 403
        answer = httpx.get(page, headers={"X-Remote-User": "mb"}, timeout=PATIENCE_S)
        assert "for mb" in answer.text


def test_a_page_that_others_can_reach_says_so(archive):
    with start("--archive", archive, "--host", "0.0.0.0", "--port", 0) as process:  # noqa: S104
        assert process.stdout.readline().startswith("the laboratory's page: http://0.0.0.0:")
        process.terminate()
        _, err = process.communicate(timeout=PATIENCE_S)
    assert err == "whoever reaches 0.0.0.0 reads everything: no name is asked\n"


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ((), "which archive: expected --archive URL, or --config FILE that names it"),
        (("--archive", "nowhere.db"), "nowhere"),
        (("--archive", "{archive}", "--host", "192.0.2.1"), "can't listen at 192.0.2.1 port"),
        (("--archive", "{archive}", "--port", "{taken}"), "Address already in use"),
        (("--config", "{archive}"), "is no valid TOML"),
    ],
)
def test_what_can_not_be_served_is_told_in_one_line(archive, given, told):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        names = {"archive": archive, "taken": taken.getsockname()[1]}
        with pytest.raises(RampholdError, match=told) as raised:
            cli.main(["browse", *(one.format(**names) for one in given)], standalone_mode=False)
    assert "\n" not in str(raised.value)
