"""What the balance shows, and what its mass is for."""

from collections.abc import Sequence

from ramphold.core import MassReading, MassState
from ramphold_tui.view import formats
from ramphold_tui.view.elements import Banner, Meter, Tone
from ramphold_tui.view.sieve_timers import SieveTimer
from ramphold_tui.view.step_words import step_words
from ramphold_tui.view.worksheet_parts import WorksheetPart, full_name, weighed

_STALE_S = 5.0
NO_CHARGE = Meter(label="", share=0.0, text="", brief="", tone=Tone.FADED)


def balance_view(mass: MassReading | None, age_s: float | None) -> tuple[str, Banner]:
    """The digits of the balance, and its state."""
    if mass is None or age_s is None:
        detail = "nothing from the balance yet: check that it is on"
        return "--", Banner(word="no mass", detail=detail, tone=Tone.FADED)
    digits = formats.mass(mass.mass_g)
    if age_s > _STALE_S:
        detail = f"as of {formats.age(age_s)} ago"
        return digits, Banner(word=f"was {mass.state}", detail=detail, tone=Tone.FADED)
    if mass.state is MassState.STABLE:
        return digits, Banner(word="= stable", detail="", tone=Tone.CALM)
    if mass.state is MassState.MOVING:
        return digits, Banner(word="~ moving", detail="wait until it is stable", tone=Tone.ACT)
    return digits, Banner(word=f"! {mass.state}", detail="no mass to keep", tone=Tone.CAUTION)


def enter_keeps(
    part: WorksheetPart | None, sieves: Sequence[SieveTimer] = (), now_ns: int = 0
) -> str:
    """What Enter would do, with what is on the shaker at a time on the screen's clock."""
    if part is None:
        return "no sample is open: Enter shows the worksheet"
    if part.step is None:
        return f"{full_name(part)}: all is done; R shows what it came to"
    if part.step.place is None:
        return f"{full_name(part)}: nothing to weigh; Enter leads on: {step_words(part.step)}"
    shaken = [one.to_go_s(now_ns) for one in sieves if one.shaking == part.step.shaking]
    wait = f" (still shaken: {formats.clock(shaken[0])})" if shaken and shaken[0] > 0 else ""
    return f"Enter keeps it as {weighed(part, part.step.place)}{wait}"


def charge_meter(part: WorksheetPart | None, present_g: float | None) -> Meter:
    """The charge on the balance against the one wanted; `NO_CHARGE` if none is wanted."""
    aim = part.step.charge if part is not None and part.step is not None else None
    if aim is None:
        return NO_CHARGE
    there_g = max(present_g or 0.0, 0.0)
    to_go_g, grains = aim.target_g - there_g, abs(aim.grains_to_go(there_g))
    if aim.is_right(there_g):
        brief, tone = "right", Tone.ACT
    elif to_go_g > 0:
        brief, tone = f"{formats.mass(to_go_g)} g to go", Tone.CALM
    else:
        brief, tone = f"{formats.mass(-to_go_g)} g too much", Tone.CAUTION
    said = f"{brief}, {formats.about(grains)} grains"
    if aim.left_g is not None and not aim.is_left:
        said = f"the cut has only {formats.mass(aim.left_g)} g left"
    return Meter(
        label="charge",
        share=min(there_g / aim.target_g, 1.0),
        text=f"wanted {formats.mass(aim.target_g)} g, there {formats.mass(there_g)} g: {said}",
        brief=brief,
        tone=tone,
    )
