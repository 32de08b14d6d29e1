"""Reports: a sample's record put as a document, and that as HTML or PDF; pure."""

from ramphold.report._build import document
from ramphold.report._document import Document, Letterhead
from ramphold.report._html import html
from ramphold.report._report_input import Issue

__all__ = ["Document", "Issue", "Letterhead", "document", "html"]
