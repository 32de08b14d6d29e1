"""Figures for pages beside the report, drawn by the same parts and in the same look."""

from ramphold.report._axes import WIDTH, Plot, Scale, fitting
from ramphold.report._drawing import Anchor, Dot, Drawing, Ink, Point, Polyline, Shape, Words
from ramphold.report._svg import svg

__all__ = [
    "WIDTH",
    "Anchor",
    "Dot",
    "Drawing",
    "Ink",
    "Plot",
    "Point",
    "Polyline",
    "Scale",
    "Shape",
    "Words",
    "fitting",
    "svg",
]
