"""Bench and collector sign for each other: real daemon, real broker, real collector."""

import contextlib
import json
import subprocess
import sys

import pytest

from ramphold.keys.ed25519 import fingerprint
from ramphold.keys.key_folder import KeyFolder
from support.benches import FilledBench
from support.laboratory import Laboratory, until

pytestmark = pytest.mark.slow


@pytest.fixture
def laboratory(tmp_path):
    made = Laboratory(tmp_path / "laboratory")
    yield made
    made.close()


@pytest.fixture
def bench(laboratory):
    made = laboratory.bench()
    with contextlib.closing(FilledBench(made.database)) as filled:
        filled.certify()
        filled.sample("26-0417", stresses=[8000.0])
    made.start()
    laboratory.delivered(made)
    return made


def ramphold(*arguments, cwd=None):
    return subprocess.run(
        [sys.executable, "-m", "ramphold.cli", *map(str, arguments)],
        capture_output=True, text=True, check=False, cwd=cwd,
    )  # fmt: skip


def receipts(bench):
    ((count,),) = bench.rows("SELECT ifnull(max(count), 0) FROM heads WHERE word = 'receipt'")
    return count


def newest(bench):
    ((count,),) = bench.rows("SELECT max(id) FROM records")
    return count


def test_every_record_is_signed_witnessed_and_vouched_for_once_its_key_is_accepted(
    laboratory, bench, tmp_path
):
    until(lambda: receipts(bench) == newest(bench))
    config = laboratory.folder / "collector" / "collect.toml"
    heads = "SELECT count(*) FROM heads WHERE word = 'head' AND agrees = 1"
    until(lambda: laboratory.rows(heads) != [(0,)])
    before = ramphold("collect", "--config", config, "--status")
    whose = fingerprint(KeyFolder.beside(bench.database).public())
    assert f"press-1: not vouched for: compare key {whose}" in before.stdout
    done = ramphold("collect", "--config", config, "--accept", "press-1", whose, "--by", "M. B.")
    assert f"{newest(bench)} records are vouched for" in done.stdout
    assert laboratory.rows("SELECT vouched FROM samples") == [("vouched for",)]
    # A record of the running daemon is signed, filed, witnessed and vouched for by itself.
    bench.works_on()
    until(lambda: receipts(bench) == newest(bench))
    until(lambda: laboratory.rows("SELECT vouched FROM benches") == [(newest(bench),)])
    checked = ramphold("check", "--records", bench.database, "--json")
    assert checked.returncode == 0, checked.stdout
    signed = json.loads(checked.stdout)["signed"]
    assert (signed["signed"], signed["witnessed"]) == (newest(bench), newest(bench))
    # An exported trace says so by itself.
    trace = tmp_path / "trace-1.csv"
    assert ramphold("export", "trace", "1", "--db", bench.database, "--out", trace).returncode == 0
    collector = fingerprint(KeyFolder.beside(bench.database).collector())
    shown = ramphold("collect", "--config", config, "--status").stdout
    assert f"key      {collector}\n" in shown
    done = ramphold("verify", trace, "--fingerprint", whose, "--collector", collector)
    assert (done.returncode, "it is what was signed" in done.stdout) == (0, True)


def test_renewed_keys_of_both_sides_are_followed_and_a_lost_one_waits_for_a_person(
    laboratory, bench
):
    config = laboratory.folder / "collector" / "collect.toml"
    collect = ("collect", "--config", config)
    keys = KeyFolder.beside(bench.database)
    by = ("--by", "KL", "--reason", "five years old")

    def told():
        return laboratory.rows("SELECT fingerprint, vouched FROM benches")

    def renew(*more):
        done = ramphold("key", "renew", *by, *more, "--config", "bench.toml", cwd=bench.folder)
        assert done.returncode == 0, done.stderr
        bench.works_on()

    def accept():
        whose = fingerprint(keys.public())
        until(lambda: told()[0][0] == whose)
        ramphold(*collect, "--accept", "press-1", whose, "--by", "M. B.")

    accept()
    renew()
    until(lambda: told() == [(fingerprint(keys.public()), newest(bench))])
    # The collector's new key is taken by the bench, since the old one has signed for it.
    old = keys.collector()
    assert ramphold("key", "renew-collector", "--collect", config, *by).returncode == 0
    laboratory.collector.stop()
    laboratory.collector.start().linked()
    bench.works_on()
    until(lambda: keys.collector() != old)
    until(lambda: receipts(bench) == newest(bench))
    assert ramphold("check", "--records", bench.database).returncode == 0
    # A lost key is missed at the next start; a person gives it up, and another accepts the new one.
    (keys.path / "own.key").unlink()
    bench.kill()
    bench.start()
    assert "NO own.key" in ramphold("check", "--config", "bench.toml", cwd=bench.folder).stdout
    renew("--lost")
    until(lambda: told()[0][0] == fingerprint(keys.public()))
    assert told()[0][1] < newest(bench)
    accept()
    until(lambda: told()[0][1] == newest(bench))
    assert ramphold("check", "--records", bench.database).returncode == 0


def test_a_killed_bench_signs_what_it_left_unsigned(laboratory, bench):
    for _ in range(3):
        bench.works_on()
    bench.kill()
    bench.start()
    until(lambda: receipts(bench) == newest(bench))
    assert ramphold("check", "--records", bench.database).returncode == 0
    assert laboratory.rows("SELECT count(*) FROM heads WHERE agrees = 0") == [(0,)]
