"""Reports: the record of a sample as a document, and the document as HTML or PDF. Pure."""

from ramphold.report._build import document
from ramphold.report._document import Document, Letterhead
from ramphold.report._file_name import report_name
from ramphold.report._html import html, html_sheet
from ramphold.report._html_style import sheet_style
from ramphold.report._report_input import Issue
from ramphold.report._results import ReportedResult, reported_results

__all__ = [
    "Document",
    "Issue",
    "Letterhead",
    "ReportedResult",
    "document",
    "html",
    "html_sheet",
    "report_name",
    "reported_results",
    "sheet_style",
]
