"""A sample's page is its report; its files are those of the command line."""

import csv
import io
import sqlite3

import msgspec
import pytest

from ramphold.browse.config import BrowseConfig
from ramphold.clock import SystemClock
from ramphold.collector.archive import open_archive
from ramphold.collector.archived_sample import ArchivedSample
from ramphold.report import Issue, document, html_sheet
from support.browsing import asked
from support.pdf_text import shown

pytestmark = pytest.mark.slow


@pytest.fixture
def sample(series):
    """The path of the client's sample."""
    return f"samples/{series}/1"


def test_the_page_is_the_report_of_the_sample(url, ask, sample, series):
    page = ask(sample).text
    with open_archive(url, read_only=True) as archive:
        found = ArchivedSample(archive, series, 1)
        issue = Issue(utc_ns=SystemClock().utc_ns(), notes=tuple(found.notes()))
        made = document(found.record(), found.trace, issue, ())
    # All but the time of issue, which stands on the cover.
    report = html_sheet(made)
    assert page.partition("<h2><span>1</span>")[2].startswith(
        report.partition("<h2><span>1</span>")[2]
    )
    assert '<p class="value">9K</p>' in page
    assert "Not vouched for" in page


def test_a_hostile_reference_is_text_in_the_report_too(ask, series):
    page = ask(f"samples/{series}/2").text
    assert "<script>" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page


def test_the_page_has_no_style_or_script_that_its_policy_would_refuse(ask, sample):
    page = ask(sample).text
    assert " style=" not in page
    assert "<style" not in page
    assert "<script" not in page


def test_each_run_has_a_row_that_leads_to_it(ask, sample, series):
    page = ask(sample).text
    for run in range(1, 10):
        assert f'<a href="/laboratory/runs/{series}/{run}">{run}</a>' in page
    assert '<th scope="col" class="num">Target, psi</th>' in page


def test_the_html_file_is_the_reports(ask, sample):
    answer = ask(f"{sample}/report.html")
    assert answer.headers["content-disposition"] == 'attachment; filename="p1-1-26-0417-draft.html"'
    assert answer.text.startswith("<!DOCTYPE html>")
    assert "Draft, not issued" in answer.text


@pytest.mark.parametrize(("paper", "size"), [("letter", b"612 792"), ("a4", b"595.2756 841.8898")])
def test_the_pdf_is_on_the_paper_that_was_asked_for(ask, sample, paper, size):
    answer = ask(f"{sample}/report.pdf", params={"paper": paper})
    assert answer.headers["content-type"] == "application/pdf"
    assert size in answer.content
    assert "26-0417" in shown(answer.content)


def test_the_csv_file_has_a_row_for_each_specimen(ask, sample):
    rows = list(csv.DictReader(io.StringIO(ask(f"{sample}/specimens.csv").text)))
    assert [float(one["target_psi"]) for one in rows] == [8000] * 3 + [9000] * 3 + [10000] * 3
    assert {one["because"] for one in rows} == {"its run is within every limit"}


def test_the_json_file_is_the_whole_sample(url, ask, sample, series):
    with open_archive(url, read_only=True) as archive:
        record = ArchivedSample(archive, series, 1).record()
    assert ask(f"{sample}/sample.json").content == msgspec.json.encode(record) + b"\n"


def test_a_sample_that_is_not_there_is_not_found(ask, series):
    assert ask(f"samples/{series}/99").status_code == 404
    assert ask(f"samples/{'0' * 32}/1").status_code == 404
    assert ask(f"samples/{'0' * 32}/1/verify").status_code == 404
    assert ask(f"samples/{series}/1/nothing").status_code == 404


def test_verify_says_what_was_checked_and_what_to_compare(ask, sample):
    page = ask(f"{sample}/verify").text
    assert "As filed." in page
    assert "9 runs" in page
    assert "None was issued." in page


def test_a_record_that_somebody_changed_is_told_at_once_though_the_report_was_kept(
    url, tmp_path, series
):
    if not url.endswith(".db"):
        pytest.skip("one database is enough: the bytes are changed below it")
    copy = tmp_path / "archive.db"
    with sqlite3.connect(url) as whole, sqlite3.connect(copy) as other:
        whole.backup(other)
    whole.close()
    with asked(BrowseConfig(archive=str(copy))) as ask:
        sample = f"samples/{series}/1"
        assert "was changed" not in ask(sample).text
        other.execute("DROP TRIGGER events_update")
        other.execute(
            "UPDATE events SET body = replace(body, '\"mass_g\":39', '\"mass_g\":38') "
            "WHERE sample = 1 AND kind = 'mass'"
        )
        other.commit()
        other.close()
        assert "was changed" in ask(sample).text
        assert "CHANGED" in ask(f"{sample}/verify").text
