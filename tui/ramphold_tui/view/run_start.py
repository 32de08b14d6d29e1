"""What the operator reads before the run starts: target, ceiling, rating, open ticks."""

from collections.abc import Iterator

from ramphold.control.run_methods import Live
from ramphold.method import cell
from ramphold.sample import SpecimenRecord, Tick
from ramphold_tui.view import formats


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
    yield f"bore      {added.bore_in:g} in"
    yield f"charge    {formats.mass(charge_g)}{'' if charge_g is None else ' g'}"
    open_ticks = [str(tick) for tick in Tick if tick not in one.ticks]
    yield f"before    {'not ticked: ' + ', '.join(open_ticks) if open_ticks else 'all ticked'}"
    yield f"operator  {operator}"


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
