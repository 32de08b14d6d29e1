"""What the operator reads before the run starts: target, ceiling, rating, open ticks."""

from collections.abc import Iterator

from ramphold.control.run_methods import Live
from ramphold.core import Style
from ramphold.method import cell
from ramphold.sample import SpecimenRecord, Tick
from ramphold_tui.view import formats
from ramphold_tui.view.press_banner import cause


def start_lines(one: SpecimenRecord, live: Live, operator: str) -> Iterator[str]:
    """The facts of a run before it starts.

    Args:
        one: the specimen.
        live: has the rating of the press.
        operator: who starts it.
    """
    added, charge_g = one.added, one.balance.charge_g
    target_lbf = cell.force_lbf(added.target_psi, added.bore_in)
    yield f"target    {formats.psi(added.target_psi)}, {formats.grouped(target_lbf)} lbf"
    yield from _limits(target_lbf, live.rating_lbf, live.rating_name)
    unlike = f", UNUSUAL: a cell usually has {cell.STANDARD_BORE_IN:g} in"
    yield f"bore      {added.bore_in:g} in{'' if cell.is_usual_bore(added.bore_in) else unlike}"
    yield f"charge    {formats.mass(charge_g)}{'' if charge_g is None else ' g'}"
    yield f"operator  {operator}"
    open_ticks = [tick for tick in Tick if tick not in one.ticks]
    yield from _confirmed(open_ticks)


def start_answers(one: SpecimenRecord) -> dict[str, str]:
    """The answers that start a run, by a key of their own: its style, and what is confirmed."""
    if not set(Tick) - set(one.ticks):
        return {str(style): f"start, {style}" for style in Style}
    sure = {str(style): f"confirmed: start, {style}" for style in Style}
    return sure | {UNCONFIRMED: "start without confirming"}


#: The answer that starts a run, paced as a squeeze, and confirms nothing.
UNCONFIRMED = "unconfirmed"


def unkept_title(live: Live) -> str:
    """What is asked before a run is started that might not be kept."""
    return (
        f"NOT STARTED: {cause(live.unkept)}.\nTo start it all the same, give a reason. "
        "What you confirmed is not recorded then, and no zero is read."
    )


def _confirmed(open_ticks: list[Tick]) -> Iterator[str]:
    """What the start confirms: what a person has seen, and what the bench sees itself."""
    if not open_ticks:
        yield "before    all is ticked"
        return
    asked = ", ".join(tick for tick in open_ticks if tick is not Tick.ZEROED)
    if asked:
        yield f"confirm   {asked}: all done?"
    if Tick.ZEROED in open_ticks:
        yield "zero      is read now: there must be no load on the cell"


def _limits(target_lbf: float, rating_lbf: float | None, name: str) -> Iterator[str]:
    ceiling_lbf = cell.default_ceiling_lbf(target_lbf, rating_lbf or float("inf"))
    if rating_lbf is None:
        yield f"ceiling   {formats.grouped(ceiling_lbf)} lbf, or the rating where that is lower"
        yield "rating    not known: the daemon does not say it"
        return
    rating = f"rating    {formats.grouped(rating_lbf)} lbf of the {name}"
    if target_lbf > rating_lbf:
        yield "ceiling   none: the target is over the rating"
        yield f"{rating}, {formats.grouped(target_lbf - rating_lbf)} lbf UNDER THE TARGET"
        return
    yield f"ceiling   {formats.grouped(ceiling_lbf)} lbf"
    margin_lbf = rating_lbf - ceiling_lbf
    margin = "no margin over the ceiling"
    if margin_lbf > 0:
        margin = f"{formats.grouped(margin_lbf)} lbf above the ceiling"
    yield f"{rating}, {margin}"
