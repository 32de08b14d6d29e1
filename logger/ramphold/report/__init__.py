"""Reports: a sample's record put as a document, and that as HTML or PDF; pure."""

from ramphold.report._basis import Issue
from ramphold.report._facts import document
from ramphold.report._html import html
from ramphold.report._model import Document, Letterhead

__all__ = ["Document", "Issue", "Letterhead", "document", "html"]
