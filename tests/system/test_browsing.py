"""The archive in the real browser of tables, started by the README's commands."""

import json
import re
import subprocess
import sys
import time
import urllib.error
import urllib.parse
import urllib.request
from pathlib import Path

import pytest

from ramphold import collector
from ramphold.collector._message_filing import file_messages
from ramphold.collector._result_tables import work_out
from ramphold.collector.archive import open_archive
from ramphold.store import Store
from ramphold.wire import pack_envelope
from support.archived import arrived
from support.benches import FilledBench
from support.broker import free_port

ROOT = Path(__file__).parents[2]
METADATA_FILE = Path(collector.__file__).parent / "metadata.json"
METADATA = json.loads(METADATA_FILE.read_text())["databases"]["archive"]
HIDDEN = {name for name, one in METADATA["tables"].items() if one.get("hidden")}


@pytest.fixture(scope="module")
def archive(tmp_path_factory):
    """An archive with a client's sample and two of the control sand."""
    folder = tmp_path_factory.mktemp("browse")
    bench = FilledBench(folder / "bench.sqlite")
    bench.certify()
    bench.person("MB", "M. Brandt", "manager")
    bench.sample("26-0417")
    for number in ("C-1", "C-2"):
        bench.sample(number, stresses=[8000.0], replicates=2, role="control", reference="control")
    bench.close()
    with Store.read(folder / "bench.sqlite") as store:
        messages = [
            arrived("ramphold/1/p1/record", pack_envelope(store.outbox.envelope("p1", number)))
            for number in range(1, store.records.newest() + 1)
        ]
    messages.append(arrived("ramphold/1/p1/record", b"{nonsense"))
    with open_archive(str(folder / "archive.db")) as opened:
        file_messages(opened, messages, 1_795_000_000 * 10**9)
        while work_out(opened):
            pass
    return folder / "archive.db"


@pytest.fixture(scope="module")
def get(archive):
    """A function that gets a path, while a collector has the archive open."""
    readme = (ROOT / "README.md").read_text()
    printing, serving = re.findall(
        r"^    ramphold (.*) > metadata.json\n    datasette (.*)$", readme, re.MULTILINE
    )[0]
    with (archive.parent / "metadata.json").open("wb") as file:
        subprocess.run(
            [sys.executable, "-m", "ramphold.cli", *printing.split()], stdout=file, check=True
        )
    port = free_port()
    with (archive.parent / "log").open("wb") as log:
        process = subprocess.Popen(
            [sys.executable, "-m", "datasette", *serving.split(), "--port", str(port)],
            cwd=archive.parent, stdout=log, stderr=log,
        )  # fmt: skip

    def got(path):
        with urllib.request.urlopen(f"http://127.0.0.1:{port}{path}", timeout=10) as answer:
            return answer.read().decode()

    with open_archive(str(archive)):
        for _ in range(500):
            try:
                got("/-/versions.json")
                break
            except urllib.error.URLError:
                assert process.poll() is None, (archive.parent / "log").read_text()
                time.sleep(0.02)
        yield got
        process.terminate()
        process.wait()


def rows(get, path):
    return json.loads(get(f"/archive/{path}"))["rows"]


@pytest.mark.parametrize("name", sorted(METADATA["tables"].keys() - HIDDEN))
def test_every_table_that_is_described_opens_and_has_rows(get, name):
    assert rows(get, f"{name}.json?_shape=objects")
    page = get(f"/archive/{name}")
    assert METADATA["tables"][name]["description"].partition(":")[0][:40] in page


def test_nothing_is_shown_that_is_not_described_and_nothing_described_that_is_not_there(get):
    tables = json.loads(get("/archive.json"))
    there = {one["name"]: one["hidden"] for one in tables["tables"]}
    views = {one["name"] for one in tables["views"]}
    assert there.keys() | views == METADATA["tables"].keys()
    assert {name for name, hidden in there.items() if hidden} == HIDDEN - views


@pytest.mark.parametrize("name", sorted(METADATA["queries"]))
def test_every_query_that_is_kept_runs_and_finds_what_it_should(get, name):
    given = urllib.parse.urlencode(
        {"laboratory_number": "26-0417", "client": "northern", "stress_psi": "8000"}
    )
    found = rows(get, f"{name}.json?_shape=objects&{given}")
    assert bool(found) == (name != "runs_that_failed")


def test_the_class_stands_on_the_page_of_the_samples(get):
    page = get("/archive/samples")
    assert "26-0417" in page
    assert ">9K<" in page.replace("\n", "").replace(" ", "")


def test_the_query_of_a_sample_gives_its_specimens(get):
    found = rows(get, "specimens_of_a_sample.json?_shape=objects&laboratory_number=26-0417")
    assert [one["target_psi"] for one in found] == [8000.0] * 3 + [9000.0] * 3 + [10000.0] * 3
    assert {one["because"] for one in found} == {"its run is within every limit"}


def test_nothing_can_be_written_through_it(get):
    sql = urllib.parse.quote("DELETE FROM dirty")
    with pytest.raises(urllib.error.HTTPError):
        get(f"/archive.json?sql={sql}")
