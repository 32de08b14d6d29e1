"""A run for a page: its drawing as SVG, and where line, band and ceiling lie."""

from msgspec import Struct

from ramphold.core.trace import Trace
from ramphold.report._run_figure import RunPicture, run_drawing
from ramphold.report._svg import svg
from ramphold.sample import RunFinished


class RunLines(Struct, frozen=True, kw_only=True):
    """What a run was to follow; times in s since its start, stresses in psi.

    Attributes:
        begin_s: where the figure begins, shortly before the ramp.
        ramp_s: when the ramp began; None where it was not reached.
        corners: time and stress of each corner of the planned line.
        band: from when to when the hold's band is, and its lower and upper stress; empty without.
        ceiling_psi: the load ceiling as a stress.
    """

    begin_s: float
    ramp_s: float | None
    corners: tuple[tuple[float, float], ...]
    band: tuple[float, ...]
    ceiling_psi: float


def run_lines(run: RunFinished, trace: Trace) -> RunLines:
    """Line, band and ceiling of a run."""
    one = RunPicture.of(run, trace)
    half_psi, hold_s = run.target_psi * run.band_pct / 100, one.aim.hold_s
    band = () if hold_s is None else (
        hold_s, min(hold_s + run.hold_s, one.end_s), run.target_psi - half_psi,
        run.target_psi + half_psi,
    )  # fmt: skip
    return RunLines(
        begin_s=one.begin_s,
        ramp_s=one.aim.ramp_s,
        corners=one.aim.corners(one.end_s) or (),
        band=band,
        ceiling_psi=one.ceiling_psi,
    )


def run_svg(run: RunFinished, trace: Trace) -> str:
    """The figure of a run as in its report."""
    return svg(run_drawing(run, trace), f"run {run.run}: stress over time, line, band and ceiling")
