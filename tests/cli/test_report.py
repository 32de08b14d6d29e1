"""`ramphold report`: drafts from the database, revisions through the daemon."""

import hashlib
import re
import sys

import pytest

from support.tampering import tamper


@pytest.fixture
def reviewed(finished, told):
    """A sample that somebody else has looked over; its laboratory number."""
    told("sample", "review", finished, "--by", "MB")
    return finished


def changed(path):
    """Change a mass behind the program's back."""
    tamper(path, "UPDATE records SET body = replace(body, '39.5', '39.6')", rules=False)


def test_a_draft_is_written_beside_the_daemon_and_says_that_it_is_one(
    ramphold, daemon, finished, tmp_path
):
    outcome = ramphold("report", finished, "--db", daemon.db, "--out", tmp_path)
    page = (tmp_path / "bench-1-26-0417-draft.html").read_bytes()
    assert outcome.status == 0
    assert outcome.out.startswith("26-0417, Draft, not issued: Crush class 4K\n")
    assert hashlib.sha256(page).hexdigest() in outcome.out
    assert b"must not leave the laboratory" in page
    assert [path.name for path in tmp_path.iterdir()] == ["bench-1-26-0417-draft.html"]


def test_an_issued_report_is_recorded_with_its_hash_and_the_next_one_says_what_changed(
    ramphold, daemon, reviewed, told, tmp_path
):
    options = ("--db", daemon.db, "--out", tmp_path, "--socket", daemon.socket, "--issue")
    first = ramphold("report", reviewed, *options, "--by", "MB", "--json")
    (sent,) = daemon.store(lambda store: store.samples.record(1).reports)
    # Its last line is its seal, which cannot be in the record that it proves.
    page, _, _ = (tmp_path / "bench-1-26-0417-r1.html").read_bytes().rpartition(b"<!-- ")
    assert (first.status, first.json["revision"]) == (0, 1)
    assert (sent.revision, sent.sha256) == (1, hashlib.sha256(page).hexdigest())
    assert first.json["sha256"] == [sent.sha256]
    told("sample", "correct", reviewed, "client_reference", "pit 4", "--reason", "misread", "--by",
         "KL")  # fmt: skip
    told("sample", "review", reviewed, "--by", "MB")
    second = ramphold("report", reviewed, *options, "--by", "MB", "--changes", "the pit")
    assert second.status == 0, second.err
    page = (tmp_path / "bench-1-26-0417-r2.html").read_text()
    assert "It supersedes revision 1" in page
    assert "What changed: the pit" in page
    assert sent.sha256 in page


def test_what_was_not_reviewed_is_not_issued_and_leaves_no_file(
    ramphold, daemon, finished, tmp_path
):
    outcome = ramphold("report", finished, "--db", daemon.db, "--out", tmp_path, "--socket",
                       daemon.socket, "--issue", "--by", "MB")  # fmt: skip
    outcome.assert_refused("have it reviewed first")
    assert list(tmp_path.iterdir()) == []


def test_a_report_of_a_changed_record_says_so_and_is_not_issued(
    ramphold, daemon, reviewed, tmp_path
):
    changed(daemon.db)
    outcome = ramphold("report", reviewed, "--db", daemon.db, "--out", tmp_path, "--socket",
                       daemon.socket, "--issue", "--by", "MB")  # fmt: skip
    assert outcome.status == 1
    assert "CHANGED  record" in outcome.out
    page = (tmp_path / "bench-1-26-0417-draft.html").read_text()
    assert "changed outside the program" in page.replace("&#x27;", "'")
    assert daemon.store(lambda store: store.samples.record(1).reports) == ()


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_pdf_lies_beside_the_html(ramphold, daemon, finished, tmp_path, paper):
    outcome = ramphold(
        "report",
        finished,
        "--db",
        daemon.db,
        "--out",
        tmp_path,
        "--pdf",
        "--paper",
        paper,
        "--json",
    )
    assert [re.sub(r".*/", "", path) for path in outcome.json["files"]] == [
        "bench-1-26-0417-draft.html",
        "bench-1-26-0417-draft.pdf",
    ]
    width = b"612" if paper == "letter" else b"595.2756"
    assert b"[ 0 0 " + width in (tmp_path / "bench-1-26-0417-draft.pdf").read_bytes()


def test_a_pdf_without_its_library_is_refused_with_a_command_that_installs_it(
    ramphold, daemon, finished, tmp_path, monkeypatch
):
    for name in [name for name in sys.modules if name.startswith("ramphold.report")]:
        monkeypatch.delitem(sys.modules, name)
    for name in ["reportlab", *(name for name in sys.modules if name.startswith("reportlab."))]:
        monkeypatch.setitem(sys.modules, name, None)
    outcome = ramphold("report", finished, "--db", daemon.db, "--out", tmp_path, "--pdf")
    outcome.assert_refused(f"{sys.executable} -m pip install reportlab")
    assert list(tmp_path.glob("26-*")) == []


def test_a_laboratory_number_is_no_path(ramphold, daemon, told, tmp_path):
    told("sample", "add", "../x/..", "--client", "pit", "--size", "20/40", "--by", "KL")
    folder = tmp_path / "reports"
    assert ramphold("report", "#1", "--db", daemon.db, "--out", folder).status == 0
    assert [path.name for path in folder.iterdir()] == ["bench-1-x-draft.html"]


def test_an_unknown_sample_and_a_missing_name_are_refused(ramphold, daemon, finished, tmp_path):
    options = ("--db", daemon.db, "--out", tmp_path)
    ramphold("report", "26-9", *options).assert_refused("there is no sample 26-9")
    ramphold("report", finished, *options, "--issue").assert_refused("--by INITIALS")
    ramphold("report", finished, "--out", tmp_path).assert_refused("--db FILE")


def test_a_report_never_overwrites_another_whatever_their_numbers_look_like(
    ramphold, daemon, finished, told, tmp_path
):
    assert finished == "26-0417"
    told("sample", "add", "26/0417", "--client", "pit 3", "--size", "20/40", "--by", "KL")
    for sample in ("26-0417", "26/0417", "26-0417"):
        assert ramphold("report", sample, "--db", daemon.db, "--out", tmp_path).status == 0
    pages = {path.name: path.read_text() for path in tmp_path.iterdir()}
    assert sorted(pages) == [
        "bench-1-26-0417-draft-2.html",
        "bench-1-26-0417-draft.html",
        "bench-2-26-0417-draft.html",
    ]
    assert "26/0417" in pages["bench-2-26-0417-draft.html"]
    assert "26/0417" not in pages["bench-1-26-0417-draft.html"]


def test_an_issue_whose_file_is_there_already_is_not_recorded(ramphold, daemon, reviewed, tmp_path):
    old = tmp_path / "bench-1-26-0417-r1.html"
    old.write_text("an older one")
    outcome = ramphold("report", reviewed, "--db", daemon.db, "--out", tmp_path, "--socket",
                       daemon.socket, "--issue", "--by", "MB")  # fmt: skip
    outcome.assert_refused("bench-1-26-0417-r1.html", "File exists")
    assert old.read_text() == "an older one"
    assert daemon.store(lambda store: store.samples.record(1).reports) == ()
