"""The demo of a whole sample goes by the worksheet, and what it leaves can be checked."""

import asyncio
import hashlib
from pathlib import Path

import pytest

from ramphold.cli.demo import issue_report
from ramphold.demo import walk_sample
from ramphold.errors import InputError
from ramphold.keys.sealed_file import issued_bytes
from ramphold.sample import SampleState
from ramphold.store import Store


@pytest.mark.slow
def test_an_invented_sample_is_walked_from_receipt_to_report(tmp_path):
    told = []
    result = asyncio.run(walk_sample(tmp_path, 1, told.append, issue_report, most_specimens=1))
    with Store.read(tmp_path / "runs.sqlite3") as store:
        assert list(store.audit().findings()) == []
        record = store.samples.record(2)
    assert record.state is SampleState.REPORTED
    assert (result.link, result.records) == (record.chain.sha256, record.chain.records)
    # Bisection of 1 to 15 thousand psi begins in the middle: three count, one was left out.
    assert [one.added.target_psi for one in record.specimens] == [8000.0] * 4
    assert [one.counts for one in record.specimens].count(False) == 1
    assert record.specimens[0].because == "left out by demo: pan knocked over while brushing"
    assert record.bench.laboratory.within.dof == pytest.approx(2)
    assert record.sieving.analysis.conforms
    assert record.density.bulk_density_g_cm3 == pytest.approx(1.60, abs=0.001)
    assert [one.reason for one in record.corrections] == ["typed a nought too many"]
    assert all(one.balance.loss_pct < 0.5 for one in record.specimens if one.counts)
    assert record.specimens[0].run.certificates == ("DEMO-1",)
    page = issued_bytes(Path(result.report).read_bytes())
    assert [one.sha256 for one in record.reports] == [hashlib.sha256(page).hexdigest()]
    for said in ("Laboratory of the demo", "1 Invented Street", "Revision 1", "2.0004 in"):
        assert said.encode() in page
    assert "sample 26-0417 received: pit 3, north face" in told
    with pytest.raises(InputError, match=f"^{tmp_path} holds samples already: name a new folder"):
        asyncio.run(walk_sample(tmp_path, 1, told.append, issue_report))
