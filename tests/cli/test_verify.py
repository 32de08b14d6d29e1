"""An issued report or an exported trace is checked by itself, years later, by anybody."""

import shutil
import sqlite3
import subprocess
from functools import partial

import pytest

from ramphold.cli.verify import verified
from ramphold.errors import InputError
from ramphold.keys import ed25519
from ramphold.keys.ed25519 import SigningKey, fingerprint
from ramphold.keys.key_folder import KeyFolder
from ramphold.keys.record_seal import SEAL_MARK
from ramphold.keys.signed_head import sign_head
from ramphold.publish._receipt_keeper import ReceiptKeeper
from ramphold.sample import PersonAdded
from ramphold.store.backup import copy_database
from support.crushes import crush
from support.edits import forge, of
from support.readme import shell_block

COLLECTOR = SigningKey.generate()


@pytest.fixture(autouse=True)
def _quick_pins(monkeypatch):
    """A try of a PIN takes no tenth of a second here."""
    monkeypatch.setitem(ed25519._SCRYPT, "n", 2**8)


@pytest.fixture
def issued(ramphold, daemon, told, finished, tmp_path):
    """A function that issues the report and gives its files: HTML and PDF, each with its seal."""
    mb, ax = tmp_path / "MB", tmp_path / "AX"

    def issue():
        for pin in (mb, ax):
            pin.write_text(f"phrase of {pin.name}\n")
        told("person", "add", "MB", "--name", "M. Brandt", "--function", "manager",
             "--pin-file", mb)  # fmt: skip
        told("person", "add", "AX", "--name", "A. Xu", "--function", "chemist", "--by", "MB",
             "--by-pin-file", mb, "--pin-file", ax)  # fmt: skip
        told("sample", "review", finished, "--by", "AX", "--pin-file", ax)
        done = ramphold("report", finished, "--db", daemon.db, "--out", tmp_path, "--socket",
                        daemon.socket, "--issue", "--by", "MB", "--pin-file", mb,
                        "--pdf")  # fmt: skip
        assert done.status == 0, done.err
        assert done.out.count("sealed ") == 2
        return next(tmp_path.glob("*.html")), next(tmp_path.glob("*.pdf"))

    return issue


@pytest.fixture
def trace(ramphold, daemon, tmp_path, finished):  # noqa: ARG001 - its runs
    """The exported trace of a run, whose seal lies beside it."""
    path = tmp_path / "trace-1.csv"
    done = ramphold("export", "trace", "1", "--db", daemon.db, "--out", path)
    assert (done.status, done.out, done.err) == (0, "", "")
    return path


@pytest.fixture
def witnessed(ramphold, daemon, issued, trace):
    """A function that issues the report, and has it and the trace sealed with a receipt."""

    def seal():
        files = *issued(), trace
        daemon.store(witness)
        done = ramphold("seal", *files, "--db", daemon.db)
        assert (done.status, "receipt yet" in done.out) == (0, False)
        return files

    return seal


def witness(store):
    """Keep a collector's receipt over all records."""
    count = store.records.newest()
    keeper = ReceiptKeeper()
    keeper.take(sign_head(COLLECTOR, "receipt", count, store.heads.root(count), 9))
    keeper.save(store)


def yes(file, content):
    """Whether `verify` says that the bytes are what was signed."""
    try:
        return not verified(file, content).findings
    except InputError:
        return False


def test_html_pdf_and_trace_are_what_was_signed_by_themselves(
    ramphold, daemon, issued, trace, tmp_path
):
    whose = fingerprint(KeyFolder.beside(daemon.db).public())
    away = tmp_path / "years" / "later"
    away.mkdir(parents=True)
    seal = trace.with_name("trace-1.csv.seal")
    files = [shutil.copy(one, away) for one in (*issued(), trace)]
    person = fingerprint(daemon.store(lambda store: store.records.of_kind(PersonAdded))[0].key)
    shutil.copy(seal, away)
    for file, what in zip(
        files, ("revision 1, issued by M. Brandt, manager (MB, signed) on ",) * 2
        + ("trace of run 1 at 4000 psi, made by KL on ",), strict=True
    ):  # fmt: skip
        done = ramphold("verify", file)
        assert (done.status, done.err) == (0, "")
        assert what in done.out
        assert (f"issued     by M. Brandt's key {person}\n" in done.out) == ("revision" in what)
        assert ("answered   reviewed, by A. Xu, chemist (AX, signed), key " in done.out) == (
            "revision" in what
        )
        assert f"by the bench's key {whose}\n" in done.out
        assert "the bench alone vouches" in done.out
        assert "it is what was signed;" in done.out
        assert ramphold("verify", file, "--fingerprint", whose).status == 0
    other = ramphold("verify", files[0], "--fingerprint", "0" * 64, "--collector", "1" * 64)
    assert other.status == 1
    assert f"WRONG  it is signed by another bench, {whose}" in other.out
    assert "WRONG  no collector has signed it" in other.out


FORGED = (
    ("review", {"operator": "XX"}, "it is not what A. Xu (XX) signed"),
    ("review", {"utc_ns": 5}, "it is not what A. Xu (AX) signed"),
    ("review", {"signed": None}, "review by AX, is not signed, and people sign at this bench"),
    ("report", {"operator": "XX"}, "it is not what M. Brandt (XX) signed"),
    ("report", {"signed": None}, "report by MB, is not signed, and people sign at this bench"),
    ("person", {"name": "K. Lund"}, "it is not what M. Brandt (MB) signed"),
)


def test_whoever_holds_the_benchs_key_seals_no_other_reviewer_or_issuer(
    ramphold, daemon, issued, tmp_path
):
    html, _ = issued()
    key = KeyFolder.beside(daemon.db).open()
    for number, (kind, edit, finding) in enumerate(FORGED):
        copy = tmp_path / f"copy{number}.sqlite3"
        daemon.store(lambda _, copy=copy: copy_database(daemon.db, copy))

        def changed(records, kind=kind, edit=edit):
            of(records, kind)[-1].update(edit)
            return records

        connection = sqlite3.connect(copy)
        forge(connection, changed, key)
        connection.close()
        assert ramphold("seal", html, "--db", copy).status == 0
        done = ramphold("verify", html)
        assert (done.status, finding in done.out) == (1, True), done.out


def test_a_receipt_that_came_later_is_added_and_names_its_collector(ramphold, witnessed):
    for file in witnessed():
        assert file.read_bytes().count(SEAL_MARK.encode()) == (file.suffix != ".csv")
        whose = fingerprint(COLLECTOR.public)
        found = ramphold("verify", file, "--collector", whose[:16], "--json")
        assert (found.status, found.json["collector"]["fingerprint"]) == (0, whose)


def test_no_changed_byte_is_told_to_be_what_was_signed(witnessed):
    for file in witnessed():
        content = file.read_bytes()
        assert yes(file, content)
        seal = content.rfind(SEAL_MARK.encode()) % len(content)
        some = range(0, seal, len(content) // 20)
        for at in (*some, *range(seal, len(content), 11)):
            changed = bytearray(content)
            changed[at] ^= 1 << at % 8
            assert not yes(file, bytes(changed)), at
        for other in (content + b"\n", content[:-1], content + b"<p>6K</p>\n", content * 2, b""):
            assert not yes(file, other)


def test_no_changed_byte_of_a_seal_beside_is_told_to_be_right(trace):
    seal = trace.with_name("trace-1.csv.seal")
    content, line = trace.read_bytes(), seal.read_bytes()
    for at in range(0, len(line), 13):
        changed = bytearray(line)
        changed[at] ^= 1 << at % 8
        seal.write_bytes(changed)
        assert not yes(trace, content), at
        # Another spelling of the same number or hash is not what was written.
        seal.write_bytes(line[:at] + line[at : at + 1].swapcase() + line[at + 1 :])
        assert yes(trace, content) == (line[at : at + 1].swapcase() == line[at : at + 1])


def test_the_seal_of_one_file_does_not_fit_another(ramphold, daemon, issued, trace, tmp_path):
    html, pdf = issued()
    other = tmp_path / "trace-2.csv"
    ramphold("export", "trace", "2", "--db", daemon.db, "--out", other)
    other.write_bytes(other.read_bytes().replace(b"good", b"none", 1))
    done = ramphold("verify", other, "--seal", trace.with_name("trace-1.csv.seal"))
    assert done.status == 1
    assert "WRONG  the file is not the trace of run 1" in done.out
    content = html.read_bytes()
    line = pdf.read_bytes().splitlines()[-4].removeprefix(b"%")
    mixed = content[: content.rfind(b"<!-- ")] + b"<!-- " + line + b" -->\n"
    # Its record names both files, so that either seal is right for both.
    assert yes(html, mixed)
    assert not yes(html, mixed.replace(b"4K", b"6K"))


def test_a_pdf_with_its_seal_is_read_by_another_program(issued):
    _, pdf = issued()
    if shutil.which("pdftotext") is None:
        pytest.skip("needs pdftotext: apt-get install poppler-utils")
    read = subprocess.run(["pdftotext", pdf, "-"], capture_output=True, text=True, check=True)
    assert (read.stderr, "26-0417" in read.stdout) == ("", True)


@pytest.mark.usefixtures("finished")
def test_every_trace_of_a_whole_export_has_its_seal(ramphold, daemon, tmp_path):
    done = ramphold("export", "all", tmp_path / "all", "--db", daemon.db)
    assert (done.status, done.err) == (0, "")
    for run in (1, 2):
        assert ramphold("verify", tmp_path / "all" / f"trace-{run}.csv").status == 0


def test_what_was_not_signed_yet_is_sealed_later(ramphold, daemon, told, finished, tmp_path):
    told("sample", "specimen", finished, "4000psi", "--label", "s3", "--by", "KL")
    daemon.sign()
    daemon.hold_signing()
    daemon.store(partial(crush, specimen=3, fails=True))
    path = tmp_path / "trace-3.csv"
    done = ramphold("export", "trace", "3", "--db", daemon.db, "--out", path)
    assert "run 3 has no seal" in done.err
    done = ramphold("seal", path, "--db", daemon.db)
    assert (done.status, "no seal: the bench has not signed record" in done.out) == (1, True)
    daemon.sign()
    assert ramphold("seal", path, "--db", daemon.db).status == 0
    assert ramphold("verify", path).status == 0


def test_what_is_no_seal_and_no_file_of_ours_is_refused_in_one_line(
    ramphold, daemon, trace, tmp_path
):
    seal = trace.with_name("trace-1.csv.seal")
    seal.write_text("{}")
    ramphold("verify", trace).assert_refused("no seal: expected one line")
    seal.write_bytes(b"\xff\0")
    ramphold("verify", trace).assert_refused("no seal: expected one line")
    seal.write_text(SEAL_MARK + "record=1 previous= body=e30=")
    ramphold("verify", trace).assert_refused("the seal is damaged")
    seal.unlink()
    ramphold("verify", trace).assert_refused("no seal in it, and no trace-1.csv.seal beside it")
    ramphold("verify", tmp_path / "none").assert_refused("can't be read")
    (tmp_path / "other.csv").write_text("a,b\n")
    ramphold("seal", tmp_path / "other.csv", "--db", daemon.db).assert_refused("no record names")


def test_the_readme_proves_each_with_openssl_and_sha256sum_and_finds_a_change(
    daemon, witnessed, tmp_path
):
    whose = [KeyFolder.beside(daemon.db).public(), COLLECTOR.public]

    def prove(file):
        script = shell_block("### Prove a file without this program", file)
        return subprocess.run(["bash", "-c", script], cwd=tmp_path, capture_output=True,
                              text=True, check=False)  # fmt: skip

    files = witnessed()
    person = daemon.store(lambda store: store.records.of_kind(PersonAdded))[0].key
    for file in files:
        keys = [fingerprint(key) for key in (*whose, *([person] * (file.suffix != ".csv")))]
        done = prove(file)
        assert (done.stderr, "NOT" in done.stdout) == ("", False)
        assert done.stdout.count("Signature Verified Successfully") == len(keys)
        assert [key in done.stdout for key in keys] == [True] * len(keys)
        content = file.read_bytes()
        changed = bytearray(content)
        changed[-5 if file.suffix == ".pdf" else len(content) // 2] ^= 1
        file.write_bytes(changed)
        assert "NOT" in prove(file).stdout
