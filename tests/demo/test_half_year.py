"""The invented laboratory: its archive is one that a collector might have filled."""

import pytest

from ramphold.cli import _laboratory_demo
from ramphold.collector.archive import open_archive
from ramphold.collector.archive_audit import archive_findings
from ramphold.demo import fill_laboratory

#: 2026-11-20
UNTIL = 1_795_132_800 * 10**9


@pytest.fixture(scope="module")
def filled(tmp_path_factory):
    """Two archives of three weeks, of one seed."""
    folders = [tmp_path_factory.mktemp(name) for name in ("one", "again")]
    for folder in folders:
        fill_laboratory(folder / "archive.db", folder, UNTIL, 1, lambda _: None, weeks=3)
    return [folder / "archive.db" for folder in folders]


def rows(path, sql):
    with open_archive(str(path), read_only=True) as archive:
        return archive.database.rows(sql)


@pytest.mark.slow
def test_what_is_filed_holds_together_and_goes_by_the_seed(filled):
    with open_archive(str(filled[0]), read_only=True) as archive:
        assert list(archive_findings(archive)) == []
    # Series are drawn anew, as on every bench; what was recorded is not.
    links = "SELECT bench, record, link FROM events ORDER BY 1, 2, 3"
    assert rows(filled[0], links) == rows(filled[1], links)


@pytest.mark.slow
def test_there_is_something_of_everything_that_a_manager_looks_for(filled):
    path = filled[0]
    assert rows(path, "SELECT count(DISTINCT bench) FROM benches") == [(3,)]
    assert rows(path, "SELECT DISTINCT bench FROM benches WHERE standing = 'disputed'")
    assert rows(path, "SELECT 1 FROM benches WHERE told_waiting > 30")
    assert rows(path, "SELECT 1 FROM benches WHERE vouched = filed")
    assert rows(path, "SELECT 1 FROM control_chart WHERE day >= 2")
    assert rows(path, "SELECT 1 FROM runs WHERE verdict = 'fail'")
    assert {"reviewed", "in test"} <= {
        state for (state,) in rows(path, "SELECT DISTINCT state FROM sample_results")
    }


def test_an_archive_that_is_there_is_shown_and_not_made_anew(tmp_path, monkeypatch):
    (tmp_path / "archive.db").write_bytes(b"there")
    served = []
    monkeypatch.setattr("ramphold.browse.serving.serve", lambda config, _: served.append(config))
    _laboratory_demo.show_laboratory(tmp_path, 1, None)
    assert (tmp_path / "archive.db").read_bytes() == b"there"
    assert "invented" in served[0].note
