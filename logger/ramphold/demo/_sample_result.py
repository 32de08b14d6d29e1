"""What the demo of a whole sample gives, and what it asks for to issue the report."""

from collections.abc import Callable

from msgspec import Struct

from ramphold.daemon.config import BenchConfig


class SampleDemoResult(Struct, frozen=True, kw_only=True):
    """The result of the demo; `report` is the file of the issued report."""

    seed: int
    sample: str
    specimens: int
    counted: int
    crush_class: str | None
    probability: float | None
    records: int
    link: str
    report: str


class ReportIssue(Struct, frozen=True, kw_only=True):
    """How a report is issued; `record` records the issue with the SHA-256 of HTML and PDF."""

    sample: str
    by: str
    utc_ns: int
    record: Callable[[str, str], None]


#: Writes and issues the report of a sample on a bench; returns its revision and its file.
IssueReport = Callable[[BenchConfig, ReportIssue], tuple[int, str]]
