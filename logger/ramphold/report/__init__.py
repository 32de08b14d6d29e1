"""Reports: the record of a sample as a document, and the document as HTML or PDF. Pure."""

from ramphold.report._build import document
from ramphold.report._document import Document, Letterhead
from ramphold.report._html import html
from ramphold.report._report_input import Issue
from ramphold.report._results import StressResult, stress_results

__all__ = [
    "Document",
    "Issue",
    "Letterhead",
    "StressResult",
    "document",
    "html",
    "stress_results",
]
