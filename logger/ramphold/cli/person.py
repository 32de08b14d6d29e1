"""`ramphold person`: who signs, with a key of their own."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from ramphold.cli._common import CommandGroup, json_option, show
from ramphold.cli._pin import pin_option, read_pin
from ramphold.clock import SystemClock
from ramphold.collector.config import key_folder
from ramphold.collector.config import load_config as load_collect_config
from ramphold.keys.person_key import PersonKeys, Signer


def _where(command: Callable[..., Any]) -> Callable[..., Any]:
    option = click.option(
        "--collect",
        required=True,
        type=click.Path(path_type=Path),
        help="The collector's configuration, a TOML file.",
    )
    return option(json_option(command))


@click.group("person", cls=CommandGroup)
def command() -> None:
    """The persons who sign, each with a key that only their passphrase or PIN opens."""


@command.command("add")
@click.argument("initials")
@click.option("--name", required=True, help="The full name, as a report prints it.")
@click.option("--function", required=True, help="The function, such as `laboratory manager`.")
@pin_option
@_where
def add(
    *,
    initials: str,
    name: str,
    function: str,
    pin_file: Path | None,
    collect: Path,
    as_json: bool,
) -> None:
    """Make a key for a person, who types a passphrase or PIN twice."""
    people = _people(collect)
    pin = read_pin(pin_file, initials, confirm=True)
    person = people.add(initials, name.strip(), function.strip(), pin, SystemClock().utc_ns())
    show(person, _text(person), as_json=as_json)


@command.command("list")
@_where
def list_(*, collect: Path, as_json: bool) -> None:
    """Show every person who signs, or has signed."""
    found = _people(collect).all()
    show(found, "\n".join(map(_text, found)) or "nobody signs yet", as_json=as_json)


@command.command("retire")
@click.argument("initials")
@_where
def retire(*, initials: str, collect: Path, as_json: bool) -> None:
    """End a person's signing; what was signed stays signed."""
    person = _people(collect).retire(initials, SystemClock().utc_ns())
    show(person, _text(person), as_json=as_json)


def _people(collect: Path) -> PersonKeys:
    return PersonKeys(key_folder(load_collect_config(collect)).path)


def _text(person: Signer) -> str:
    state = "" if person.retired_utc_ns is None else ", retired"
    return f"{person.initials:<12} {person.name}, {person.function}{state}, key {person.key[:16]}"
