"""Regions of the screen; each is given a value and redraws itself."""

from ramphold_tui.widgets.bars import Bars
from ramphold_tui.widgets.big_text import BigText
from ramphold_tui.widgets.cue_line import CueLine
from ramphold_tui.widgets.fines_plot import FinesPlot
from ramphold_tui.widgets.gauge_bar import GaugeBar
from ramphold_tui.widgets.key_bar import KeyBar
from ramphold_tui.widgets.lines import Lines
from ramphold_tui.widgets.press_strip import PressStrip
from ramphold_tui.widgets.pursuit_bar import PursuitBar
from ramphold_tui.widgets.rows import Rows
from ramphold_tui.widgets.trace import Trace
from ramphold_tui.widgets.word_line import WordLine

__all__ = [
    "Bars",
    "BigText",
    "CueLine",
    "FinesPlot",
    "GaugeBar",
    "KeyBar",
    "Lines",
    "PressStrip",
    "PursuitBar",
    "Rows",
    "Trace",
    "WordLine",
]
