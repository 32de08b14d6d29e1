"""Runs and samples as plain text, for the command line and the demo. Pure."""

from ramphold.text._run_text import assessment_lines, event_line
from ramphold.text._sample_text import sample_lines

__all__ = ["assessment_lines", "event_line", "sample_lines"]
