"""The laboratory server's side: takes what the benches send, files it once, says that it did."""

from ramphold.collector._archive import Archive, open_archive
from ramphold.collector._samples import ArchivedSample, find_sample
from ramphold.collector._status import BenchStatus, CollectStatus, collect_status

__all__ = [
    "Archive",
    "ArchivedSample",
    "BenchStatus",
    "CollectStatus",
    "collect_status",
    "find_sample",
    "open_archive",
]
