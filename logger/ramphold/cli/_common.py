"""Shared by the commands: quantities as option types, and results for people or programs."""

from pathlib import Path

import click
import msgspec

from ramphold import units
from ramphold.errors import InputError, UnitError

config_option = click.option(
    "--config",
    required=True,
    type=click.Path(path_type=Path),
    help="The bench's configuration, a TOML file.",
)
json_option = click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")


class CommandGroup(click.Group):
    """A group whose list shows the whole first sentence of each command, wrapped and not cut."""

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands."""
        commands = {name: self.get_command(ctx, name) for name in self.list_commands(ctx)}
        rows = [
            (name, command.get_short_help_str(limit=1000))
            for name, command in commands.items()
            if command is not None and not command.hidden
        ]
        with formatter.section("Commands"):
            formatter.write_dl(rows)


class QuantityType(click.ParamType[float]):
    """An option's value with its unit, read into the quantity's base unit."""

    def __init__(
        self, quantity: units.Quantity, *, bare: bool = False, or_zero: bool = False
    ) -> None:
        self.quantity = quantity
        self.bare, self.or_zero = bare, or_zero
        self.name = quantity.base if bare else "quantity"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Parse the text; an error says what was expected, and for which option."""
        if isinstance(value, float):
            return value
        try:
            return units.parse(str(value), self.quantity, bare=self.bare, or_zero=self.or_zero)
        except UnitError as error:
            self.fail(str(error), param, ctx)


def show(result: object, text: str, *, as_json: bool) -> None:
    """Print a result: as one JSON object for programs, or as text for people."""
    click.echo(msgspec.json.encode(result).decode() if as_json else text)


def write_new(path: Path, text: str) -> None:
    """Write a file that does not exist yet.

    Raises:
        InputError: it exists, or cannot be written.
    """
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except OSError as error:
        raise InputError(f"{path} can't be written: {error.strerror}") from None


def read_bytes(path: Path) -> bytes:
    """The bytes of a file.

    Raises:
        InputError: it can't be read.
    """
    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(f"{path}: can't be read: {error.strerror}") from None
