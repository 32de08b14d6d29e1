"""The places of the screen, and the dialogs over them."""

from ramphold_tui.screens.balance import BalanceScreen
from ramphold_tui.screens.dialogs import InitialsDialog
from ramphold_tui.screens.help import HelpScreen
from ramphold_tui.screens.instruments import InstrumentsScreen
from ramphold_tui.screens.place import Place
from ramphold_tui.screens.press import PressScreen
from ramphold_tui.screens.results import ResultsScreen
from ramphold_tui.screens.samples import SamplesScreen
from ramphold_tui.screens.sheet import Sheet
from ramphold_tui.screens.timers import TimersScreen
from ramphold_tui.screens.worksheet import WorksheetScreen

__all__ = [
    "BalanceScreen",
    "HelpScreen",
    "InitialsDialog",
    "InstrumentsScreen",
    "Place",
    "PressScreen",
    "ResultsScreen",
    "SamplesScreen",
    "Sheet",
    "TimersScreen",
    "WorksheetScreen",
]
