"""A report is kept exactly as long as it would be built the same."""

import pytest

from ramphold.browse._sample_reports import SampleReports
from ramphold.browse.config import BrowseConfig
from ramphold.collector._message_filing import file_messages
from ramphold.collector.archive import open_archive

MORNING = 1_795_161_600 * 10**9  # 2026-11-20 08:00 UTC
HOUR_NS = 3600 * 10**9


@pytest.mark.slow
def test_a_report_is_kept_until_a_record_is_filed_or_the_day_ends(tmp_path, messages):
    *first, last = messages
    with open_archive(str(tmp_path / "archive.db")) as archive:
        file_messages(archive, first, MORNING)
        series = archive.benches()[0].series
        reports = SampleReports(BrowseConfig(archive="archive.db"))
        built = reports.of(archive, series, 2, MORNING)
        assert reports.of(archive, series, 2, MORNING + HOUR_NS) is built
        next_day = reports.of(archive, series, 2, MORNING + 24 * HOUR_NS)
        assert next_day is not built
        assert next_day.record == built.record
        # A record of another sample may be one of the control sand, whose spread is in the report.
        file_messages(archive, [last], MORNING)
        newer = reports.of(archive, series, 2, MORNING + 24 * HOUR_NS)
        assert newer is not next_day
        assert reports.of(archive, series, 2, MORNING + 25 * HOUR_NS) is newer
