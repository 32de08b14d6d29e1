"""The load's zero: taken, or insisted on with a reason where it has moved over its limit."""

from ramphold.control import bench_methods
from ramphold.method.daily_check import CheckVerdict
from ramphold.sample import DailyCheckMade
from ramphold_tui.screens.record_screen import RecordScreen
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.forms import reason_form


async def take_zero(screen: RecordScreen, operator: str) -> bool:
    """Have the daemon read the zero of the load and count from it; whether it did.

    Args:
        screen: says what came of it, and asks for the reason that a zero over its limit needs.
        operator: who takes it.
    """
    made = await _zero(screen, operator)
    if made is None:
        return False
    if made.verdict == CheckVerdict.FAILED:
        return await _insist(screen, made, operator)
    screen.say(f"zero taken: {made.off_pct:+.3f} % of the full range from the one before")
    return True


async def _zero(
    screen: RecordScreen, operator: str, anyway: str | None = None
) -> DailyCheckMade | None:
    wanted = bench_methods.ZeroLoadParams(operator=operator, anyway=anyway)
    return await screen.do(bench_methods.ZERO_LOAD, wanted, "zero not taken")


async def _insist(screen: RecordScreen, refused: DailyCheckMade, operator: str) -> bool:
    """Offer to take a zero that is over its limit, with a reason."""
    moved = f"{refused.off_pct:+.3f} % of the full range, over its limit"
    title = f"NOT TAKEN: the zero moved by {moved}.\nTo take it all the same, give a reason."
    reason = await screen.fill_in(reason_form(title))
    if reason is None:
        screen.say(f"zero NOT taken: it moved by {moved}", Tone.CAUTION)
        return False
    if (made := await _zero(screen, operator, reason)) is None:
        return False
    # By now it may be within its limits again.
    over = "" if made.anyway is None else " over its limit"
    screen.say(f"zero taken{over}: it reads {made.measured:.6g}")
    return True
