"""A passphrase or PIN, typed without an echo, or the first line of a file."""

import sys
from pathlib import Path

import click

from ramphold.errors import InputError

pin_option = click.option(
    "--pin-file",
    type=click.Path(path_type=Path),
    help="Read the passphrase or PIN from the first line of this file, instead of asking.",
)


def read_pin(path: Path | None, whose: str, *, confirm: bool = False) -> str:
    """The PIN of a person.

    Raises:
        InputError: the file cannot be read, or is empty; or there is no terminal to type at.
    """
    if path is None:
        if not sys.stdin.isatty():
            raise InputError(
                f"no terminal to type the PIN of {whose} at: expected its file (`--help`)"
            )
        return str(
            click.prompt(
                f"passphrase or PIN of {whose}", hide_input=True, confirmation_prompt=confirm
            )
        )
    try:
        lines = path.read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"--pin-file: {path} can't be read: {error}") from None
    if not lines or not lines[0]:
        raise InputError(f"--pin-file: {path}: expected the PIN in the first line")
    return lines[0]
