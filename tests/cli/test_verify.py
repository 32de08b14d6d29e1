"""An issued report is checked with its seal alone, years later, by anybody."""

import json

import pytest


@pytest.fixture
def issued(ramphold, daemon, told, finished, tmp_path):
    """An issued report, whose seal lies beside it."""
    told("sample", "review", finished, "--by", "MB")
    done = ramphold("report", finished, "--db", daemon.db, "--out", tmp_path, "--socket",
                    daemon.socket, "--issue", "--by", "MB")  # fmt: skip
    assert done.status == 0, done.err
    assert "seal " in done.out
    (path,) = tmp_path.glob("*.html")
    return path


def seal_of(path):
    return path.with_name(path.name + ".seal")


def test_a_report_is_what_was_signed_with_nothing_but_its_seal(ramphold, issued, tmp_path):
    away = tmp_path / "years" / "later.html"
    away.parent.mkdir()
    away.write_bytes(issued.read_bytes())
    done = ramphold("verify", away, "--seal", seal_of(issued))
    assert (done.status, done.err) == (0, "")
    assert "revision 1, issued by MB on " in done.out
    assert done.out.endswith("it is what was signed\n")
    whose = ramphold("verify", issued, "--json").json["fingerprint"]
    assert ramphold("verify", issued, "--fingerprint", whose).status == 0
    other = ramphold("verify", issued, "--fingerprint", "0" * 64)
    assert (other.status, "signed by another key" in other.out) == (1, True)


def test_a_changed_report_is_found(ramphold, issued):
    issued.write_bytes(issued.read_bytes().replace(b"5K", b"6K").replace(b"4K", b"9K"))
    done = ramphold("verify", issued)
    assert done.status == 1
    assert "WRONG  the file is not the one that was issued" in done.out


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda seal: seal["head"].update(utc_ns=5), "the signature is wrong"),
        (lambda seal: seal.update(body=seal["body"].replace('"MB"', '"XX"')), "is not among those"),
        (lambda seal: seal.update(proof=seal["proof"][:-1]), "is not among those"),
        (lambda seal: seal.update(proof=["zz"]), "is not among those"),
        (lambda seal: seal.update(record=1), "is not among those"),
        (lambda seal: seal["head"].update(word="receipt"), "the signature is wrong"),
    ],
)
def test_a_changed_seal_is_found(ramphold, issued, change, said):
    seal = json.loads(seal_of(issued).read_text())
    change(seal)
    seal_of(issued).write_text(json.dumps(seal))
    done = ramphold("verify", issued)
    assert done.status == 1
    assert said in done.out


def test_what_is_no_seal_is_refused_in_one_line(ramphold, issued):
    seal_of(issued).write_text("{}")
    ramphold("verify", issued).assert_refused("no seal of a report")
    seal_of(issued).unlink()
    ramphold("verify", issued).assert_refused("can't be read")
