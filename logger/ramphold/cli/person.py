"""`ramphold person`: who signs, with a key of their own; at a bench, or at the collector."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from ramphold.cli._common import CommandGroup
from ramphold.cli._daemon_client import DaemonClient, with_daemon
from ramphold.cli._pin import pin_option, read_pin
from ramphold.clock import SystemClock
from ramphold.collector.config import key_folder
from ramphold.collector.config import load_config as load_collect_config
from ramphold.control.act import NoParams
from ramphold.control.people_methods import (
    ADD_PERSON,
    CHANGE_PIN,
    PEOPLE,
    RETIRE_PERSON,
    AddPersonParams,
    ChangePinParams,
    PersonLine,
    RetirePersonParams,
)
from ramphold.errors import InputError
from ramphold.keys.person_key import PersonKeys, Signer


def _where(command: Callable[..., Any]) -> Callable[..., Any]:
    option = click.option(
        "--collect",
        type=click.Path(path_type=Path),
        help="A collector's configuration: its people, instead of those of a bench.",
    )
    return option(with_daemon(command))


@click.group("person", cls=CommandGroup)
def command() -> None:
    """The people who sign, each with a key that only their passphrase or PIN opens.

    They review, decide that a failed run counts and issue reports at a bench (--socket or
    --config), or decide disputes at the collector (--collect).
    """


@command.command("add")
@click.argument("initials")
@click.option("--name", default="", help="The full name, as a report prints it.")
@click.option("--function", default="", help="The function, such as `laboratory manager`.")
@click.option("--by", default="", metavar="INITIALS", help="Who signs already, and vouches.")
@click.option(
    "--by-pin-file",
    type=click.Path(path_type=Path),
    help="Read the PIN of that person from the first line of this file.",
)
@pin_option
@_where
def add(
    *,
    initials: str,
    name: str,
    function: str,
    by: str,
    by_pin_file: Path | None,
    pin_file: Path | None,
    collect: Path | None,
    daemon: DaemonClient,
) -> None:
    """Let a person sign, with a new key whose passphrase or PIN is typed twice.

    At a bench where people sign already, one of them vouches for the key (--by). A key that was
    copied there from another bench is taken as it is: it opens with its PIN, and needs no --name
    and no --function.
    """
    if collect is not None:
        pin = read_pin(pin_file, initials, confirm=True)
        utc_ns = SystemClock().utc_ns()
        person = _keys(collect).add(initials, name.strip(), function.strip(), pin, utc_ns).person
        daemon.show(person, _text(person))
        return
    found = daemon.ask(PEOPLE, NoParams())
    if found.voucher_needed and not by:
        able = ", ".join(one.initials for one in found.people if one.signs and one.here)
        raise InputError(f"--by: expected a person who signs here and vouches for the key: {able}")
    wanted = AddPersonParams(
        initials=initials,
        name=name,
        function=function,
        operator=by or initials,
        pin=read_pin(by_pin_file, by) if found.voucher_needed else None,
        new_pin=read_pin(pin_file, initials, confirm=True),
    )
    kept = daemon.ask(ADD_PERSON, wanted)
    voucher = f"{kept.operator} vouches" if found.voucher_needed else "nobody vouches"
    text = f"{kept.name} ({kept.initials}) signs here from record {kept.record} on; {voucher}"
    daemon.show(kept, f"{text} for the key {kept.key[:16]}")


@command.command("list")
@_where
def list_(*, collect: Path | None, daemon: DaemonClient) -> None:
    """Show every person who signs, or has signed."""
    if collect is not None:
        there = _keys(collect).all()
        daemon.show(there, "\n".join(map(_text, there)) or "nobody signs yet")
        return
    found = daemon.ask(PEOPLE, NoParams())
    nobody = "nobody signs yet: reviews, decisions and reports carry initials only"
    daemon.show(found, "\n".join(map(_line, found.people)) or nobody)


@command.command("pin")
@click.argument("initials")
@pin_option
@click.option(
    "--new-pin-file",
    type=click.Path(path_type=Path),
    help="Read the new one from the first line of this file.",
)
@_where
def pin_(
    *,
    initials: str,
    pin_file: Path | None,
    new_pin_file: Path | None,
    collect: Path | None,
    daemon: DaemonClient,
) -> None:
    """Let another passphrase or PIN open a person's key; the key stays.

    It counts here alone: copies of the key at other benches and in backups keep the old one.
    """
    pin = read_pin(pin_file, initials)
    new = read_pin(new_pin_file, f"{initials}, the new one", confirm=True)
    if collect is not None:
        person = _keys(collect).change_pin(initials, pin, new, SystemClock().utc_ns())
        daemon.show(person, f"{person.name} ({person.initials}) has another PIN here")
        return
    done = daemon.ask(CHANGE_PIN, ChangePinParams(initials=initials, pin=pin, new_pin=new))
    daemon.show(done, f"{done.name} ({done.initials}) has another PIN here")


@command.command("retire")
@click.argument("initials")
@click.option("--by", default="", metavar="INITIALS", help="Who signs that, at a bench.")
@pin_option
@_where
def retire(
    *, initials: str, by: str, pin_file: Path | None, collect: Path | None, daemon: DaemonClient
) -> None:
    """End a person's signing; what was signed stays signed."""
    if collect is not None:
        person = _keys(collect).retire(initials, SystemClock().utc_ns())
        daemon.show(person, _text(person))
        return
    if not by:
        raise InputError("--by: expected the initials of a person who signs at this bench")
    pin = daemon.pin(by, pin_file)
    kept = daemon.ask(RETIRE_PERSON, RetirePersonParams(initials=initials, operator=by, pin=pin))
    daemon.show(kept, f"{kept.initials} signs no more, record {kept.record}")


def _keys(collect: Path) -> PersonKeys:
    return PersonKeys(key_folder(load_collect_config(collect)).path)


def _text(person: Signer) -> str:
    state = "" if person.retired_utc_ns is None else ", retired"
    return f"{person.initials:<12} {person.name}, {person.function}{state}, key {person.key[:16]}"


def _line(one: PersonLine) -> str:
    state = "" if one.signs else ", retired"
    if one.signs and not one.here:
        state = ", whose key does not lie here"
    voucher = f"{one.vouched_by} vouches" if one.vouched_by else "nobody vouches"
    who = f"{one.initials:<12} {one.name}, {one.function}{state}"
    return f"{who}, key {one.key[:16]}, for which {voucher}"
