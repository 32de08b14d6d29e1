"""What a complete run hands on: whether it can be true, and what the next run starts from."""

from dataclasses import fields, replace

from ramphold.core._cues import CueKind, PacingStart, Style
from ramphold.core._learning import Learned
from ramphold.core._stroking import SIZES
from ramphold.errors import PlanError

#: A little wider than what the pacing can learn, so that rounding refuses nothing.
_POSSIBLE = {
    "gain_factor": (0.09, 11.0),
    "gain_sd": (0.01, 0.6),
    "scatter": (0.19, 4.1),
    "sag_per_s": (0.0, 0.021),
    "delay_s": (0.04, 1.2),
    "follow_per_s": (0.3, 3.0),
    "base_pace": (-2.1, 3.1),
    "top_up_per_s": (0.004, 0.6),
}

#: A lever moves in slips of about this share of a stroke (a guess, as in `ramphold.sim`).
_SLIP, _FINE = 0.012, 0.01

#: Cues that ask the hand to do something, and the words in which two of them are said again.
_ASKING = (CueKind.SQUEEZE, CueKind.STOP, CueKind.TOP_UP, CueKind.STROKE)
_AGAIN = {CueKind.PULL_ON: CueKind.SQUEEZE, CueKind.HANDS_OFF: CueKind.STOP}


class CueCount:
    """Counts the cues that asked for something, and those of them that had to be said again."""

    def __init__(self) -> None:
        self.cues = self.said_again = 0
        self._asked: CueKind | None = None
        self._again = False

    def feed(self, kind: CueKind) -> None:
        """Take a new cue."""
        if kind in _AGAIN:
            self.said_again += not self._again
            self._again = True
        elif not (self._again and kind is self._asked):
            self._asked, self._again = kind, False
            self.cues += kind in _ASKING


def check_pacing_start(start: PacingStart) -> None:
    """Check that a press and a hand can be so.

    Raises:
        PlanError: naming the value, and what was expected.
    """
    for field in fields(start):
        value = getattr(start, field.name)
        low, high = _POSSIBLE[field.name]
        if not low <= value <= high:
            raise PlanError(f"{field.name} is {value:g}: expected {low:g} to {high:g}")


def pacing_start(
    learned: PacingStart | None, trial: PacingStart | None, *, trial_is_newer: bool
) -> PacingStart:
    """What a run starts from: what this hand taught on this press, and a trial of the press.

    The gain belongs to the press. It is the newer trial's, since the pump may have been changed;
    else that of the two which is surer. They are not averaged: the hand's runs began from the
    trial, and the same strokes would count twice.

    Args:
        learned: by this hand's newest run on this press; None where there is none.
        trial: of the press; None where there is none.
        trial_is_newer: whether the trial was made after that run.
    """
    if learned is None or trial is None:
        return learned or trial or PacingStart()
    if trial_is_newer or trial.gain_sd < learned.gain_sd:
        return replace(learned, gain_factor=trial.gain_factor, gain_sd=trial.gain_sd)
    return learned


def coarse_step_pct(start: PacingStart, style: Style, target_psi: float) -> float | None:
    """Least step of the load that a hand can make, where it is too coarse for 1 % either way.

    In a squeeze that is one slip of the lever, which may not be over 1 %; in strokes the smallest
    one that is called, which may fill the two percents from under the target to over it.

    Returns:
        The step in % of the target; None where it is fine enough, and where no run and no trial has
        said anything of the press yet.
    """
    if start.gain_sd >= PacingStart().gain_sd:
        return None
    strokes = style is Style.STROKES
    size, most = (SIZES[0], 2 * _FINE) if strokes else (_SLIP, _FINE)
    step = size * Learned(start).gain_psi(target_psi) / target_psi
    return 100 * step if step > most else None


def coarse_below_psi(start: PacingStart) -> float:
    """Target under which one slip of the lever likely moves the load by over 1 % of it, in psi."""
    learned, target_psi = Learned(start), 0.0
    for _ in range(40):
        # A gain grows more slowly than the load, so this comes to rest.
        target_psi = _SLIP / _FINE * learned.gain_psi(target_psi)
    return target_psi
