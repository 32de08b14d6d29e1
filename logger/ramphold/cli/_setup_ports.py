"""The ports of a bench: found, listened to, chosen, and shown live."""

from collections.abc import Sequence
from dataclasses import dataclass

import click

from ramphold.cli._setup_answers import SetupAnswers
from ramphold.cli._setup_draft import BenchDraft, Question
from ramphold.clock import Clock
from ramphold.errors import PortError
from ramphold.instruments import PortHeard, PortSettings, collect, listen
from ramphold.wire import InstrumentKind, LineShape, recognise

_WATCHES, _WATCH_S = 4, 0.4


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundPort:
    """A port and what came from it; or why it could not be opened."""

    name: str
    heard: PortHeard | None
    fault: str = ""

    def shapes(self, kind: InstrumentKind) -> tuple[LineShape, ...]:
        """The shapes that an instrument of that kind at it may have."""
        return self.heard.of_kind(kind) if self.heard else ()


def hear(name: str, clock: Clock) -> FoundPort:
    """Listen to a port and print what it says."""
    click.echo(f"listening to {name} ...")
    try:
        heard = listen(name, clock, lambda told: click.echo(f"    {told}"))
    except PortError as error:
        click.echo(f"    {error}")
        return FoundPort(name=name, heard=None, fault=str(error))
    for line in _lines(heard):
        click.echo(f"    {line}")
    return FoundPort(name=name, heard=heard)


def _lines(heard: PortHeard) -> list[str]:
    if not heard.shapes:
        return ["nothing came" if not heard.data else "noise: no known shape at any rate"]
    rate = heard.settings.rate or "network"
    how = f"asked by {heard.query!r}" if heard.query else f"{heard.lines_per_s:.3g} lines/s"
    told = [
        f"{rate}, {how}: {one.kind}, {one.profile}: {one.newest} from {one.line!r}"
        for one in heard.shapes
    ]
    kinds = {kind: heard.of_kind(kind) for kind in ("load", "balance")}
    if any(len(shapes) > 1 for shapes in kinds.values()):
        told.append("two shapes fit: a line while the value moves would tell them apart")
    elif len(told) > 1:
        told.append("two instruments send this: you say which it is")
    return told


def choose_port(
    kind: InstrumentKind,
    draft: BenchDraft,
    ports: list[FoundPort],
    answers: SetupAnswers,
    clock: Clock,
) -> FoundPort:
    """Ask for the port of an instrument, set its keys in the draft, and show it live."""
    while True:
        port = _ask_port(kind, draft, ports, answers, clock)
        draft.put(kind, "port", port.name)
        _set_lines(kind, draft, port, answers)
        if port.heard is None or not port.shapes(kind):
            click.echo(f"    {port.name} gave no line of a {kind}: look at cable, rate and power")
        elif not _watch(port.heard, str(draft.get(kind, "profile")), kind, clock):
            click.echo("    nothing more came")
        if answers.agrees(f"  Is that the {kind}?", default=True):
            return port


def _ask_port(
    kind: InstrumentKind,
    draft: BenchDraft,
    ports: list[FoundPort],
    answers: SetupAnswers,
    clock: Clock,
) -> FoundPort:
    names = [one.name for one in ports]
    other = "balance" if kind == "load" else "load"
    free = [one for one in ports if one.shapes(kind) and one.name != draft.get(other, "port")]
    before = "" if draft.is_new else str(draft.get(kind, "port") or "")
    default = before if before in names else free[0].name if free else before
    words = f"{kind}: its number above, or a device, or socket://HOST:PORT"
    question = Question(section=kind, key="port", words=words)
    name = answers.choice(question, names, default)
    known = next((one for one in ports if one.name == name), None)
    if known is None:
        known = hear(name, clock)
        ports.append(known)
    return known


def _set_lines(
    kind: InstrumentKind, draft: BenchDraft, port: FoundPort, answers: SetupAnswers
) -> None:
    """Set rate, framing, shape and unit: as heard, confirmed or chosen."""
    heard, shapes = port.heard, port.shapes(kind)
    if heard is not None and shapes:
        settings = heard.settings
        draft.put(kind, "baud", settings.baud)
        draft.put(kind, "framing", None if settings.framing == "8N1" else settings.framing)
        if kind == "balance":
            draft.put(kind, "mode", "query" if heard.query else "continuous")
    _choose_shape(kind, draft, shapes, answers)


def _choose_shape(
    kind: InstrumentKind, draft: BenchDraft, shapes: Sequence[LineShape], answers: SetupAnswers
) -> None:
    names = [one.profile for one in shapes]
    before = "" if draft.is_new else str(draft.get(kind, "profile") or "")
    # Of two that fit, a person or the file says which.
    default = names[0] if len(names) == 1 else before
    told = f" ({' or '.join(names)})" if names else ""
    question = Question(section=kind, key="profile", words=f"shape of its lines{told}")
    profile = answers.choice(question, names, default)
    draft.put(kind, "profile", profile)
    chosen = next((one for one in shapes if one.profile == profile), None)
    if chosen is None:
        return
    if not chosen.needs_unit:
        draft.put(kind, "unit", None)
    elif len(chosen.units) == 1:
        draft.put(kind, "unit", chosen.units[0])
    else:
        asked = Question(section=kind, key="unit", words="unit of values without one")
        draft.put(kind, "unit", answers.value(asked, draft.get(kind, "unit")))


def _watch(heard: PortHeard, profile: str, kind: InstrumentKind, clock: Clock) -> bool:
    """Print what comes now: the bytes of the newest line, and its value; whether anything did."""
    came = False
    for _ in range(_WATCHES):
        # Read as eight bits, so that the bytes show their parity as they did at first.
        settings = PortSettings(port=heard.settings.port, baud=heard.settings.baud)
        if heard.query:
            settings = heard.settings
        data = collect(settings, clock, _WATCH_S, heard.query)
        for one in recognise(data, least=1):
            if (one.kind, one.profile) == (kind, profile):
                click.echo(f"    now {one.newest:<16} {one.line!r}")
                came = True
    return came
