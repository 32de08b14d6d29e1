"""The deliberate act by which a run begins."""

from collections.abc import Iterator
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.widgets import Button, Static

from ramphold.core import Style
from ramphold.method import cell
from ramphold.sample import SpecimenRecord, Tick
from ramphold_tui import formats
from ramphold_tui.screens.sheet import Sheet

__all__ = [
    "StartDialog",
]


class StartDialog(Sheet[Style | None]):
    """Whether to follow the crush of a specimen from now on, and how it is paced.

    `not yet` is the ready answer.

    Args:
        one: the specimen.
        operator: who starts it.
        warning: what would be done first; empty where this is next.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss", "back"),
        Binding("left,up", "app.focus_previous", "choose"),
        Binding("right,down", "app.focus_next", "choose"),
    ]

    def __init__(self, one: SpecimenRecord, operator: str, warning: str) -> None:
        super().__init__()
        self._one, self._operator, self._warning = one, operator, warning

    def content(self) -> ComposeResult:
        """What will be followed, and the answers."""
        title = f"Follow the crush of {self._one.added.label} from now on?"
        yield Static(title, classes="title", markup=False)
        yield Static("\n".join(self._lines()), markup=False)
        yield Static(self._warning, classes="wrong", markup=False)
        with Horizontal(classes="answers"):
            yield Button("not yet", id="no", compact=True)
            yield Button("start, squeeze", id=Style.SQUEEZE, compact=True)
            yield Button("start, strokes", id=Style.STROKES, compact=True)
        yield Static("Left Right: choose   Enter: take it   Esc: back", classes="keys")

    @on(Button.Pressed)
    def take(self, event: Button.Pressed) -> None:
        """Take the answer of a button."""
        chosen = event.button.id
        self.dismiss(Style(chosen) if chosen in list(Style) else None)

    def _lines(self) -> Iterator[str]:
        added, charge_g = self._one.added, self._one.balance.charge_g
        target_lbf = cell.force_lbf(added.target_psi, added.bore_in)
        ceiling_lbf = cell.default_ceiling_lbf(target_lbf, float("inf"))
        yield f"target    {formats.psi(added.target_psi)}, {formats.grouped(target_lbf)} lbf"
        yield f"ceiling   {formats.grouped(ceiling_lbf)} lbf, or the rating where that is lower"
        yield f"bore      {added.bore_in:g} in"
        yield f"charge    {formats.mass(charge_g)}{'' if charge_g is None else ' g'}"
        open_ticks = [str(tick) for tick in Tick if tick not in self._one.ticks]
        not_seen = f"not seen to: {', '.join(open_ticks)}"
        yield f"before    {not_seen if open_ticks else 'all is seen to'}"
        yield f"operator  {self._operator}"
