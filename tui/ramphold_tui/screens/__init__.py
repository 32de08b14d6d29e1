"""The places of the screen: at the press, and what lies beside it."""

from ramphold_tui.screens.press import PressScreen

__all__ = ["PressScreen"]
