"""Who may ask for what: nothing writes, and nothing is loaded from elsewhere."""

import contextlib
import sqlite3
import subprocess
import sys

import pytest

from ramphold.browse.config import BrowseConfig, load_config
from ramphold.browse.serving import laboratory
from ramphold.collector.archive import open_archive
from ramphold.errors import ConfigError, StoreError
from support.browsing import asked

PAGES = ("", "samples", "work", "over-time")


@pytest.mark.parametrize("page", [*PAGES, "static/page.css", "nothing"])
def test_every_answer_lets_a_browser_load_from_here_alone(ask, page):
    policy = ask(page).headers["content-security-policy"]
    assert policy.startswith("default-src 'self';")
    assert "unsafe" not in policy
    assert "*" not in policy
    assert "http" not in policy


@pytest.mark.parametrize("page", PAGES)
def test_no_page_has_an_inline_script_or_style_that_its_policy_would_refuse(ask, page):
    text = ask(page).text
    assert "<script>" not in text
    assert "<style" not in text
    assert " style=" not in text
    assert " on" not in [part[:3] for part in text.split("=") if part.startswith(" on")]


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE", "OPTIONS", "PROPFIND"])
@pytest.mark.parametrize("path", ["/", "/laboratory", "/laboratory/samples", "/_memory", "/-/x"])
def test_a_request_that_might_write_is_refused(ask, method, path):
    answer = ask(path, method=method)
    assert answer.status_code == 405
    assert answer.headers["allow"] == "GET, HEAD"


@pytest.mark.parametrize(
    "path",
    ["/_memory", "/_memory?sql=select+1", "/_memory.json?sql=select+1", "/_internal", "/archive",
     "/-/metadata.json", "/-/settings", "/-/plugins", "/-/auth-token", "/-/static/app.css",
     "/laboratory.json", "/laboratory/../_memory", "/laboratoryx", "/%6Caboratory/samples",
     "/laboratory%2F..%2F_memory", "/laboratory/%00", "/laboratory/samples%2f"],
)  # fmt: skip
def test_nothing_but_the_pages_is_served_and_no_page_takes_sql(ask, path):
    answer = ask(path)
    assert answer.status_code == 404
    assert "DROP" not in answer.text


@pytest.mark.parametrize(
    "sql", ["DELETE FROM events", "UPDATE benches SET bench = 'x'", "CREATE TABLE x (y INTEGER)"]
)
def test_what_the_pages_read_with_can_not_write(url, sql):
    with open_archive(url, read_only=True) as archive, pytest.raises(StoreError):
        archive.database.write(sql)
    with (
        open_archive(url, read_only=True) as archive,
        pytest.raises(StoreError),
        archive.snapshot(),
    ):
        archive.database.write(sql)


def test_a_request_for_another_name_is_refused(url, ask):
    assert ask(headers={"Host": "evil.example"}).status_code == 421
    assert ask(headers={"Host": "localhost:9999"}).status_code == 200
    assert ask(headers={"Host": "[::1]:8321"}).status_code == 200
    # An address is nobody's name, so that no page of somebody else's can have it.
    assert ask(headers={"Host": "192.0.2.7:8321"}).status_code == 200
    for wrong in ("", "192.0.2.7.evil.example", "localhost.evil.example", "[evil]", "localhost@x"):
        assert ask(headers={"Host": wrong}).status_code == 421
    with asked(BrowseConfig(archive=url, names=("Lab.example",))) as behind:
        assert behind(headers={"Host": "lab.example"}).status_code == 200


def test_the_proxys_header_is_believed_only_where_the_configuration_names_it(url, ask):
    given = {"X-Remote-User": "<b>M. Brandt\u0301".encode("latin-1", "ignore")}
    assert "Brandt" not in ask(headers=given).text
    with asked(BrowseConfig(archive=url, user_header="X-Remote-User")) as behind:
        assert behind().status_code == 403
        assert behind(headers={"X-Remote-User": ""}).status_code == 403
        page = behind(headers=given)
        assert page.status_code == 200
        assert "for &lt;b&gt;M. Brandt" in page.text


def test_a_header_that_anybody_on_the_network_could_send_is_refused_at_the_start():
    with pytest.raises(ConfigError, match="could name himself"):
        laboratory(BrowseConfig(archive="archive.db", host="0.0.0.0", user_header="X-User"))  # noqa: S104


def test_an_unknown_key_of_the_configuration_is_named(tmp_path):
    path = tmp_path / "browse.toml"
    path.write_text('archive = "a.db"\nlisten = "::"\n')
    with pytest.raises(ConfigError, match="listen: unknown key"):
        load_config(path)


def test_an_archive_that_is_not_there_is_said_on_the_page(tmp_path):
    with asked(BrowseConfig(archive=str(tmp_path / "none.db"))) as ask:
        answer = ask("samples")
        assert answer.status_code == 503
        assert "none.db" in answer.text
    assert not (tmp_path / "none.db").exists()


def datasette(*given):
    """What datasette itself answers, started as its own program, which finds what is installed."""
    program = [sys.executable, "-m", "datasette", "serve", *given]
    done = subprocess.run(program, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_whoever_starts_datasette_on_an_archive_finds_the_pages_there(url):
    if not url.endswith("archive.db"):
        pytest.skip("datasette reads SQLite alone")
    assert 'href="/laboratory"' in datasette(url, "--get", "/")
    assert "26-0417" in datasette(url, "--get", "/laboratory/samples")


def test_a_datasette_without_an_archive_is_left_as_it_is(tmp_path):
    with contextlib.closing(sqlite3.connect(tmp_path / "other.db")) as other:
        other.execute("CREATE TABLE x (y)")
    assert "/laboratory" not in datasette(str(tmp_path / "other.db"), "--get", "/")
