"""`ramphold person` at a bench, and what people sign there by the command line."""

import io
import sqlite3

import pytest

from ramphold.keys import ed25519
from ramphold.keys.ed25519 import fingerprint
from ramphold.keys.key_folder import KeyFolder
from ramphold.sample import PersonAdded, ReportIssued
from ramphold.store.backup import copy_database
from support.edits import forge, without


@pytest.fixture(autouse=True)
def _quick_pins(monkeypatch):
    """A try of a PIN takes no tenth of a second here."""
    monkeypatch.setitem(ed25519._SCRYPT, "n", 2**8)


@pytest.fixture
def pins(tmp_path):
    """A file with the PIN of each person."""
    for name in ("MB", "AX"):
        (tmp_path / name).write_text(f"phrase of {name}\nnot read\n")
    (tmp_path / "wrong").write_text("guess\n")
    return tmp_path


@pytest.fixture
def people(told, pins):
    """MB and AX sign; the folder with their PINs."""
    told("person", "add", "MB", "--name", "M. Brandt", "--function", "laboratory manager",
         "--pin-file", pins / "MB")  # fmt: skip
    told("person", "add", "AX", "--name", "A. Xu", "--function", "chemist", "--by", "MB",
                "--by-pin-file", pins / "MB", "--pin-file", pins / "AX")  # fmt: skip
    return pins


def test_people_are_added_listed_and_retired(ramphold, daemon, told, pins):
    assert told("person", "list").startswith("nobody signs yet: reviews, decisions and reports")
    add = ("person", "add", "AX", "--name", "A. Xu", "--function", "chemist")
    ramphold(*add, "--socket", daemon.socket).assert_refused("no terminal to type the PIN of AX at")
    first = told("person", "add", "MB", "--name", "M. Brandt", "--function", "manager",
                 "--pin-file", pins / "MB")  # fmt: skip
    assert first.startswith("M. Brandt (MB) signs here from record 1 on; nobody vouches for the")
    ramphold(*add, "--socket", daemon.socket, "--pin-file", pins / "AX").assert_refused(
        "--by: expected a person who signs here and vouches for the key: MB"
    )
    vouched = ("--by", "MB", "--by-pin-file", pins / "MB", "--pin-file", pins / "AX")
    told(*add, *vouched)
    names = [line.split(", key ")[0] for line in told("person", "list").splitlines()]
    assert names == ["MB           M. Brandt, manager", "AX           A. Xu, chemist"]
    ramphold("person", "retire", "AX", "--socket", daemon.socket).assert_refused("--by: expected")
    out = told("person", "retire", "AX", "--by", "MB", "--pin-file", pins / "MB")
    assert out == "AX signs no more, record 3\n"
    assert ", for which MB vouches" in told("person", "list").splitlines()[1]
    assert "A. Xu, chemist, retired" in told("person", "list")
    more = ("--by", "AX", "--pin-file", pins / "AX")
    ramphold("person", "retire", "MB", *more, "--socket", daemon.socket).assert_refused(
        "A. Xu (AX) is retired here and signs no more"
    )


def test_a_review_and_an_issue_are_signed_and_the_report_names_who_in_full(
    ramphold, daemon, told, finished, people
):
    pins = people
    review = ("sample", "review", finished, "--by", "AX", "--socket", daemon.socket)
    ramphold(*review).assert_refused("no terminal to type the PIN of AX at: expected its file")
    ramphold(*review, "--pin-file", pins / "wrong").assert_refused("wrong PIN for AX: nothing was")
    ramphold(*review, "--pin-file", pins / "none").assert_refused("--pin-file: ", "can't be read")
    ramphold("sample", "review", finished, "--by", "XY", "--socket", daemon.socket, "--pin-file",
             pins / "AX").assert_refused("XY has no key to sign with here")  # fmt: skip
    assert ramphold(*review, "--pin-file", pins / "AX").out == "reviewed by AX\n"
    assert "reviewed, by A. Xu, chemist (AX, signed)\n" in told("sample", "show", finished)

    issue = ("report", finished, "--db", daemon.db, "--socket", daemon.socket, "--out", pins,
             "--pdf", "--issue", "--by", "MB")  # fmt: skip
    ramphold(*issue, "--pin-file", pins / "wrong").assert_refused("wrong PIN for MB")
    assert list(pins.glob("*.html")) == []
    done = ramphold(*issue, "--pin-file", pins / "MB", "--json")
    assert done.status == 0, done.err
    (html,) = pins.glob("*.html")
    text = html.read_text()
    assert "A. Xu, chemist (AX, signed)" in text
    assert "M. Brandt, laboratory manager (MB, signed)" in text
    added = daemon.store(lambda store: store.records.of_kind(PersonAdded))
    assert all(fingerprint(one.key) in text for one in added)
    (issued,) = daemon.store(lambda store: store.records.of_kind(ReportIssued, 1))
    assert (issued.signed.name, issued.signed.key) == ("M. Brandt", added[0].key)


def test_without_people_the_report_says_that_initials_are_all_there_is(
    ramphold, daemon, told, finished, pins
):
    assert told("sample", "review", finished, "--by", "MM") == "reviewed by MM\n"
    assert "reviewed, by MM (initials only, not signed)\n" in told("sample", "show", finished)
    done = ramphold("report", finished, "--db", daemon.db, "--socket", daemon.socket, "--out", pins,
                    "--issue", "--by", "MB")  # fmt: skip
    assert done.status == 0, done.err
    (html,) = pins.glob("*.html")
    assert html.read_text().count("(initials only, not signed)") >= 4


def test_the_check_names_who_signs_and_finds_a_person_taken_out_of_the_records(
    ramphold, daemon, people
):
    daemon.sign()
    mb, ax = daemon.store(lambda store: store.records.of_kind(PersonAdded))
    done = ramphold("check", "--records", daemon.db)
    assert done.status == 0
    assert (
        f"person         MB, M. Brandt, laboratory manager: key {fingerprint(mb.key)}, nobody "
        f"vouches\nperson         AX, A. Xu, chemist: key {fingerprint(ax.key)}, MB vouches\n"
    ) in done.out
    copy = people / "copy.sqlite3"
    copy_database(daemon.db, copy)
    connection = sqlite3.connect(copy)
    forge(connection, without("person", at=-1), KeyFolder.beside(copy).open())
    connection.close()
    done = ramphold("check", "--records", copy, "--json")
    assert done.status == 1
    (found,) = [one for one in done.json["findings"] if "A. Xu" in one]
    assert found == (
        "the key of A. Xu (AX) lies beside the database, and no record says that this person "
        "signs: `ramphold person add AX`, or the record was removed"
    )
    (KeyFolder.beside(copy).path / "people" / "ax.json").write_text("{")
    done = ramphold("check", "--records", copy, "--json")
    assert "ax.json: is no person's key: put it back from its backup" in " ".join(
        done.json["findings"]
    )


def test_another_pin_opens_the_same_key_and_the_old_one_does_not(ramphold, daemon, told, people):
    change = ("person", "pin", "AX", "--socket", daemon.socket, "--new-pin-file")
    (people / "short").write_text("123\n")
    ramphold(*change, people / "short", "--pin-file", people / "AX").assert_refused("too short")
    ramphold(*change, people / "MB", "--pin-file", people / "wrong").assert_refused("wrong PIN")
    done = ramphold(*change, people / "MB", "--pin-file", people / "AX")
    assert done.out == "A. Xu (AX) has another PIN here\n"
    ramphold("person", "retire", "MB", "--by", "AX", "--socket", daemon.socket, "--pin-file",
             people / "AX").assert_refused("wrong PIN for AX")  # fmt: skip
    told("person", "retire", "MB", "--by", "AX", "--pin-file", people / "MB")
    assert daemon.store(lambda store: list(store.audit().findings())) == []


def test_a_pin_is_typed_at_a_terminal_and_not_shown(ramphold, daemon, monkeypatch, people):
    assert people
    monkeypatch.setattr("sys.stdin", Terminal())
    monkeypatch.setattr("getpass.getpass", lambda prompt, **_: prompt)
    ramphold("person", "retire", "AX", "--by", "MB", "--socket", daemon.socket).assert_refused(
        "wrong PIN for MB"
    )


class Terminal(io.StringIO):
    """An input that says it is a terminal."""

    def isatty(self):
        """Whether it is one."""
        return True
