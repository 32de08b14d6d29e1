"""Regions of the screen; each is given a value and draws itself again."""

from ramphold_tui.widgets.big_text import BigText
from ramphold_tui.widgets.cue_line import CueLine
from ramphold_tui.widgets.divider import Divider
from ramphold_tui.widgets.fines_plot import FinesPlot
from ramphold_tui.widgets.kept_lines import SideBySide, Stacked
from ramphold_tui.widgets.key_bar import KeyBar
from ramphold_tui.widgets.meter_bar import NO_METER, MeterBar
from ramphold_tui.widgets.meter_list import MeterList
from ramphold_tui.widgets.press_strip import PressStrip
from ramphold_tui.widgets.pursuit_bar import PursuitBar
from ramphold_tui.widgets.rows import Rows
from ramphold_tui.widgets.text_block import TextBlock, WrappedText
from ramphold_tui.widgets.trace_plot import TracePlot
from ramphold_tui.widgets.word_line import WordLine

__all__ = [
    "NO_METER",
    "BigText",
    "CueLine",
    "Divider",
    "FinesPlot",
    "KeyBar",
    "MeterBar",
    "MeterList",
    "PressStrip",
    "PursuitBar",
    "Rows",
    "SideBySide",
    "Stacked",
    "TextBlock",
    "TracePlot",
    "WordLine",
    "WrappedText",
]
