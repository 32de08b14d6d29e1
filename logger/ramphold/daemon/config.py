"""`bench.toml`: what stands on this bench, decoded into frozen types.

An unknown key is an error, and every error names the file and the key.
"""

import re
from pathlib import Path
from typing import Literal

import msgspec

from ramphold import units
from ramphold.core import Limits, Rules
from ramphold.errors import ConfigError, UnitError
from ramphold.method import cell

__all__ = ["BalanceConfig", "BenchConfig", "LoadConfig", "load_config"]


class Lbf(float):
    """A force in lbf, written with its unit."""


class Psi(float):
    """A stress in psi, written with its unit."""


class Inches(float):
    """A length in inches, written with its unit."""


_QUANTITIES = {Lbf: units.FORCE, Psi: units.STRESS, Inches: units.LENGTH}


class _Section(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    pass


class PressConfig(_Section, frozen=True):
    """The press: the force its frame and ram are rated for."""

    rating: Lbf


class CellConfig(_Section, frozen=True):
    """The crush cell: its bore, and the stress it is rated for."""

    bore: Inches = Inches(cell.STANDARD_BORE_IN)
    rating: Psi = Psi(cell.DEFAULT_RATING_PSI)


class LoadConfig(_Section, frozen=True):
    """The load channel: a serial load indicator, and the capacity of its sensor."""

    kind: Literal["indicator"]
    port: str
    capacity: Lbf
    profile: str = "state-comma"
    baud: int = 9600
    framing: str = "8N1"
    readings_per_s: float = 10.0


class BalanceConfig(_Section, frozen=True):
    """The balance: the shape of its lines, and whether it is asked or prints by its key."""

    port: str
    profile: str
    mode: Literal["query", "print key"] = "query"
    baud: int = 9600
    framing: str = "8N1"


class StoreConfig(_Section, frozen=True):
    """Where the runs are kept."""

    path: str


class ControlConfig(_Section, frozen=True):
    """Where the daemon listens for the screen and the commands."""

    socket: str


class BenchConfig(_Section, frozen=True):
    """One bench: a press, its cell, its load channel and its balance."""

    bench: str
    press: PressConfig
    load: LoadConfig
    store: StoreConfig
    control: ControlConfig
    cell: CellConfig = CellConfig()
    balance: BalanceConfig | None = None
    rules: Rules = Rules()
    limits: Limits = Limits()

    @property
    def weakest(self) -> tuple[str, float]:
        """Name and rating in lbf of the weakest of press, cell and sensor."""
        ratings = {
            "press": float(self.press.rating),
            "cell": cell.force_lbf(self.cell.rating, self.cell.bore),
            "sensor": float(self.load.capacity),
        }
        name = min(ratings, key=ratings.__getitem__)
        return name, ratings[name]


def load_config(path: Path) -> BenchConfig:
    """Read a bench's configuration.

    Raises:
        ConfigError: the file can't be read or is no TOML, or a key is missing, unknown or wrong.
    """
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise ConfigError(f"{path} can't be read: {error.strerror}; expected a TOML file") from None
    try:
        return msgspec.toml.decode(raw, type=BenchConfig, dec_hook=_decode_quantity)
    except msgspec.ValidationError as error:
        raise ConfigError(f"{path}: {_key_named(str(error))}") from None
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise ConfigError(f"{path} is no valid TOML: {error}") from None


def _decode_quantity(kind: type[float], value: object) -> float:
    quantity = _QUANTITIES[kind]
    if not isinstance(value, str):
        raise UnitError(f"{value!r} has no unit: expected text such as {quantity.example!r}")
    return kind(units.parse(value, quantity))


_FIELD = re.compile(r"Object (contains unknown|missing required) field `(\w+)`")


def _key_named(message: str) -> str:
    """The decoder's message, with the key as a person finds it in the file."""
    what, _, place = message.partition(" - at ")
    keys = [key for key in re.sub(r"[`$\[\]]", "", place).split(".") if key]
    if field := _FIELD.fullmatch(what):
        keys.append(field[2])
        what = "unknown key" if field[1] == "contains unknown" else "missing key"
    where = " ".join([*(f"[{key}]" for key in keys[:-1]), *keys[-1:]])
    return f"{where}: {what}" if where else what
