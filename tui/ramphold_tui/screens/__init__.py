"""The places of the screen, and the dialogs over them."""

from ramphold_tui.screens.balance_screen import BalanceScreen
from ramphold_tui.screens.dialog import Dialog
from ramphold_tui.screens.form_dialog import FormDialog
from ramphold_tui.screens.gauge_screen import GaugeScreen
from ramphold_tui.screens.help_screen import HelpScreen
from ramphold_tui.screens.instruments_screen import InstrumentsScreen
from ramphold_tui.screens.place_screen import PlaceScreen
from ramphold_tui.screens.press_screen import PressScreen
from ramphold_tui.screens.results_screen import ResultsScreen
from ramphold_tui.screens.samples_screen import SamplesScreen
from ramphold_tui.screens.timers_screen import TimersScreen
from ramphold_tui.screens.worksheet_screen import WorksheetScreen

__all__ = [
    "BalanceScreen",
    "Dialog",
    "FormDialog",
    "GaugeScreen",
    "HelpScreen",
    "InstrumentsScreen",
    "PlaceScreen",
    "PressScreen",
    "ResultsScreen",
    "SamplesScreen",
    "TimersScreen",
    "WorksheetScreen",
]
