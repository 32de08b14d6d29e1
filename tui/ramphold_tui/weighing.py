"""What is to be weighed next, and the specimens as rows. Pure."""

from ramphold.control.methods import SpecimenDetail
from ramphold.core import MassReading, MassState, RunState
from ramphold.sample import Mass, Weighing, standing_masses
from ramphold_tui import formats
from ramphold_tui.shown import Headline, Tone

__all__ = [
    "HEADER",
    "NAMES",
    "START_RUN",
    "balance_view",
    "last_mass",
    "next_weighing",
    "row",
    "to_do",
]

HEADER = f"  {'specimen':<11}{'psi':>7}{'charge g':>10}{'fines %':>9}  {'run':<12}next"
#: What is weighed, in words that fit a sentence.
NAMES = {
    Weighing.CHARGE: "charge",
    Weighing.PAN_EMPTY: "empty pan",
    Weighing.PAN_FULL: "pan with fines",
}
START_RUN = "start its run"

_STALE_S = 5.0


def next_weighing(detail: SpecimenDetail) -> Weighing | None:
    """What of a specimen is weighed next; None where something else comes first, or nothing."""
    standing = standing_masses(detail.masses)
    if Weighing.CHARGE not in standing:
        return Weighing.CHARGE
    if Weighing.PAN_EMPTY not in standing:
        return Weighing.PAN_EMPTY
    if Weighing.PAN_FULL not in standing and _crushed(detail):
        return Weighing.PAN_FULL
    return None


def to_do(detail: SpecimenDetail) -> str:
    """The next step of a specimen, in words."""
    standing = standing_masses(detail.masses)
    if Weighing.CHARGE not in standing:
        return "weigh the charge"
    if any(run.ended_t_ns is None for run in detail.runs):
        return "at the press"
    if not _crushed(detail):
        return START_RUN
    if Weighing.PAN_EMPTY not in standing:
        return "weigh the empty pan"
    if Weighing.PAN_FULL not in standing:
        return "weigh the pan with fines"
    return "done" if detail.fines_pct is not None else "a mass is wrong: correct"


def last_mass(detail: SpecimenDetail) -> Mass | None:
    """The newest mass that stands."""
    return max(standing_masses(detail.masses).values(), key=lambda mass: mass.id, default=None)


def row(detail: SpecimenDetail) -> str:
    """One specimen in one line, under `HEADER`."""
    charge = standing_masses(detail.masses).get(Weighing.CHARGE)
    charge_g = formats.mass(charge.mass_g) if charge else ""
    fines = "" if detail.fines_pct is None else f"{detail.fines_pct:.2f}"
    run = str(detail.runs[-1].state) if detail.runs else ""
    return (
        f"{detail.specimen.label[:10]:<11}{formats.grouped(detail.specimen.target_psi):>7}"
        f"{charge_g:>10}{fines:>9}  {run:<12}{to_do(detail)}"
    )


def balance_view(mass: MassReading | None, age_s: float | None) -> tuple[str, Headline]:
    """The digits of the balance, and what it says of itself."""
    if mass is None or age_s is None:
        detail = "nothing from the balance yet: check that it is on"
        return "--", Headline(word="no mass", detail=detail, tone=Tone.FADED)
    digits = formats.mass(mass.mass_g)
    if age_s > _STALE_S:
        detail = f"as of {formats.age(age_s)} ago"
        return digits, Headline(word=f"was {mass.state}", detail=detail, tone=Tone.FADED)
    if mass.state is MassState.STABLE:
        return digits, Headline(word="= stable", detail="", tone=Tone.CALM)
    if mass.state is MassState.MOVING:
        return digits, Headline(word="~ moving", detail="wait until it is stable", tone=Tone.ACT)
    return digits, Headline(word=f"! {mass.state}", detail="no mass to keep", tone=Tone.CAUTION)


def _crushed(detail: SpecimenDetail) -> bool:
    return any(run.state is RunState.COMPLETE for run in detail.runs)
