"""`ramphold setup`: ask for a bench's configuration, and write it."""

import asyncio
import subprocess
import sys
from pathlib import Path

import click

from ramphold.cli._setup_answers import (
    FileAnswers,
    PersonAnswers,
    SetupAnswers,
    settle,
    settle_doubt,
)
from ramphold.cli._setup_draft import BenchDraft, Question
from ramphold.cli._setup_files import difference, replace_file
from ramphold.cli._setup_ports import FoundPort, choose_port, hear
from ramphold.cli.check import look_at_bench
from ramphold.clock import SystemClock
from ramphold.control.client import Client
from ramphold.daemon.config import load_bench
from ramphold.daemon.port_rules import can_be_named, port_rules
from ramphold.errors import InputError, LinkError
from ramphold.instruments import Adapter, find_adapters
from ramphold.method.editions import CURRENT

#: Readings a second that indicators are set to (common practice, no source), and how far a count of
#: their lines may be off.
_RATES = (1.0, 2.0, 5.0, 10.0, 20.0, 25.0, 40.0, 50.0, 80.0, 100.0)
_COUNTED = 0.2
_KINDS = ("indicator", "bridge", "iio")
_NAMES = {"load": "/dev/ramphold-load", "balance": "/dev/ramphold-balance"}


def _question(section: str, key: str, words: str, default: str | float | None = None) -> Question:
    kind = type(default) if isinstance(default, int | float) else str
    return Question(section=section, key=key, words=words, default=default, kind=kind)


_BENCH = (
    Question(section="", key="bench", words="name of the bench, such as press-1", proposed=False),
    _question("cell", "bore", "cell: bore, such as 2in or 50.8mm", "2in"),
    _question("cell", "rating", "cell: rated stress, such as 15000psi", "15000psi"),
    Question(
        section="press",
        key="rating",
        words="press: rating, such as 50000lbf or 222kN",
        proposed=False,
    ),
)
_LINES = (
    _question("load", "baud", "load: baud", 9600),
    _question("load", "framing", "load: data bits, parity, stop bits", "8N1"),
)
_LOAD = (
    Question(
        section="load",
        key="capacity",
        words="load: the sensor's end of scale, such as 50000lbf",
        proposed=False,
    ),
    _question("load", "readings_per_s", "load: readings a second", 80.0),
)
_PLACES = (
    _question("worksheet", "edition", "edition of the standard", CURRENT),
    _question(
        "calibration", "folder", "folder of the certificates", "/var/lib/ramphold/calibration"
    ),
    _question("store", "path", "file of the records"),
    _question("control", "socket", "socket of the daemon"),
)


@click.command("setup")
@click.option(
    "--config",
    type=click.Path(path_type=Path, dir_okay=False),
    default=Path("/etc/ramphold/bench.toml"),
    show_default=True,
    help="The file to write, or to change.",
)
@click.option(
    "--rules",
    type=click.Path(path_type=Path, dir_okay=False),
    default=Path("/etc/udev/rules.d/60-ramphold.rules"),
    show_default=True,
    help="Where the names of the ports go.",
)
@click.option(
    "--answers",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A TOML file with keys of bench.toml, instead of a person.",
)
@click.option("--yes", is_flag=True, help="With --answers: write over an existing file.")
@click.option("--root", type=click.Path(path_type=Path), default=Path("/"), hidden=True)
def command(*, config: Path, rules: Path, answers: Path | None, yes: bool, root: Path) -> None:
    """Find and recognise the instruments, ask for the rest, and write the bench's configuration.

    It listens to each adapter and recognises shape, rate and framing from the bytes. It can be used
    again after a change: what it does not ask stays, the difference is shown before anything is
    written, and a copy of the old file is kept. Ctrl-C leaves everything as it was. The exit status
    is 1 if nothing was written, or an instrument does not answer.
    """
    config, rules = config.absolute(), rules.absolute()
    if answers is None and not sys.stdin.isatty():
        raise InputError("setup needs a terminal, or the answers with --answers FILE")
    said: SetupAnswers = FileAnswers(answers, yes=yes) if answers else PersonAnswers()
    draft = BenchDraft(_text(config), str(config))
    if isinstance(said, FileAnswers):
        draft.merge(said.given)
    click.echo(f"{config}: {'new' if draft.is_new else 'as it is now; Enter keeps a value'}")
    if not draft.is_new:
        asyncio.run(_refuse_beside_daemon(draft))
    present = find_adapters(root)
    chosen = _ask(draft, present, said, rules)
    _settle_rest(draft, said)
    texts = {config: draft.text}
    if chosen:
        texts[rules] = port_rules(chosen, present)
    if not _write(texts, said):
        raise SystemExit(1)
    if rules in texts and root == Path("/"):
        _name_ports()
    bench = load_bench(config)
    well = look_at_bench(config, bench)
    click.echo("Next: sudo systemctl restart ramphold")
    raise SystemExit(0 if well else 1)


def _text(config: Path) -> str | None:
    try:
        return config.read_text(encoding="utf-8")
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"{config} can't be read: {error}; expected a TOML file") from None


async def _refuse_beside_daemon(draft: BenchDraft) -> None:
    socket = draft.get("control", "socket")
    try:
        client = await Client.connect(Path(str(socket)))
    except LinkError:
        return
    async with client:
        raise InputError(
            "the daemon holds the ports: sudo systemctl stop ramphold while no run is live, then "
            "setup again"
        )


def _ask(
    draft: BenchDraft, present: list[Adapter], said: SetupAnswers, rules: Path
) -> dict[str, Adapter]:
    """Ask for everything; the adapters that get names of ours, by instrument."""
    for question in _BENCH:
        settle(draft, question, said)
    clock = SystemClock()
    ports = [hear(one.name, clock) for one in present]
    for number, port in enumerate(ports, start=1):
        click.echo(f"  {number}  {port.name}")
    _ask_load(draft, ports, said, clock)
    _ask_balance(draft, ports, said, clock)
    for question in _PLACES:
        settle(draft, question, said)
    return _ask_names(draft, present, said, rules)


def _ask_load(
    draft: BenchDraft, ports: list[FoundPort], said: SetupAnswers, clock: SystemClock
) -> None:
    before = draft.get("load", "kind")
    words = "load: indicator, bridge or iio"
    kind = said.value(question := Question(section="load", key="kind", words=words), before)
    while kind not in _KINDS:
        said.refused(f"[load] kind: {kind}: expected {', '.join(_KINDS)}")
        kind = said.value(question, before)
    if kind != before:
        draft.values["load"] = {"kind": kind, "capacity": draft.get("load", "capacity")}
        if kind == "iio":
            draft.values["load"]["device"] = "hx711"
    draft.put("load", "kind", kind)
    if kind == "indicator":
        port = choose_port("load", draft, ports, said, clock)
        for question in _LINES:
            settle(draft, question, said)
        if port.heard is not None and port.heard.lines_per_s and draft.is_new:
            draft.put("load", "readings_per_s", _usual_rate(port.heard.lines_per_s))
    for question in _LOAD:
        settle(draft, question, said)


def _usual_rate(lines_per_s: float) -> float:
    """The rate that an instrument has whose lines were counted for a second or two."""
    nearest = min(_RATES, key=lambda one: abs(one - lines_per_s))
    return nearest if abs(nearest - lines_per_s) < _COUNTED * nearest else round(lines_per_s, 1)


def _ask_balance(
    draft: BenchDraft, ports: list[FoundPort], said: SetupAnswers, clock: SystemClock
) -> None:
    heard = any(port.shapes("balance") for port in ports)
    has = heard if draft.is_new else draft.get("balance", "port") is not None
    if not said.has_balance(default=has):
        draft.values.pop("balance", None)
        return
    draft.put("balance", "profile", draft.get("balance", "profile") or "reply-state")
    choose_port("balance", draft, ports, said, clock)


def _ask_names(
    draft: BenchDraft, present: list[Adapter], said: SetupAnswers, rules: Path
) -> dict[str, Adapter]:
    by_name = {one.name: one for one in present}
    chosen = {
        kind: by_name[port]
        for kind in _NAMES
        if (port := draft.get(kind, "port")) in by_name and can_be_named(by_name[port])
    }
    if not chosen or not said.agrees(f"  Name the ports in {rules}?", default=True):
        return {}
    for kind in chosen:
        draft.put(kind, "port", _NAMES[kind])
    return chosen


def _settle_rest(draft: BenchDraft, said: SetupAnswers) -> None:
    """What only the whole shows: reasons that are missing, and what can't be right together."""
    draft.forget_stale_reasons()
    for doubt in draft.doubts():
        if not settle_doubt(draft, doubt, said):
            raise InputError(f"nothing is written: {doubt.line}")


def _write(texts: dict[Path, str], said: SetupAnswers) -> bool:
    """Show the difference, ask, and write the rules before what uses their names."""
    lines = {path: list(difference(path, text)) for path, text in texts.items()}
    for path, changes in lines.items():
        click.echo("\n".join(changes) or f"{path}: nothing changes")
    changed = [path for path in reversed(texts) if lines[path]]
    over = any(path.exists() for path in changed)
    if changed and not said.agrees("Write this?", default=not over):
        click.echo("nothing was written (with --answers, --yes writes over a file)")
        return False
    for path in changed:
        copy = replace_file(path, texts[path])
        click.echo(f"{path} written" + (f", as it was: {copy}" if copy else ""))
    return True


def _name_ports() -> None:
    """Let udev give the names now; without udev they come with the next start."""
    for call in (["control", "--reload"], ["trigger", "--subsystem-match=tty", "--settle"]):
        try:
            subprocess.run(["udevadm", *call], check=True, capture_output=True, timeout=30)  # noqa: S603, S607
        except (OSError, subprocess.SubprocessError):
            click.echo("udev does not answer: plug the adapters in again, or reboot")
            return
