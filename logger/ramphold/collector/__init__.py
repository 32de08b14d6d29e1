"""The laboratory server: files each record that a bench sends once, and sends a receipt for it."""

from ramphold.collector._archive import Archive, open_archive
from ramphold.collector._archive_status import BenchStatus, CollectStatus, collect_status
from ramphold.collector._archived_sample import ArchivedSample, find_sample

__all__ = [
    "Archive",
    "ArchivedSample",
    "BenchStatus",
    "CollectStatus",
    "collect_status",
    "find_sample",
    "open_archive",
]
