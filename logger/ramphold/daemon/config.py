"""`bench.toml`: what stands on this bench, decoded into frozen types.

An unknown key is an error, and every error names the file and the key.
"""

import re
from pathlib import Path

import msgspec

from ramphold.core import Limits, Rules
from ramphold.daemon._balance_config import BalanceConfig, CustomConfig
from ramphold.daemon._load_config import BridgeConfig, IioConfig, IndicatorConfig, LoadConfig
from ramphold.daemon._sections import Inches, Lbf, Psi, Section, decode_quantity
from ramphold.errors import ConfigError
from ramphold.method import cell
from ramphold.method.editions import CURRENT
from ramphold.sample import CRUSH, DENSITY, SIEVING

__all__ = [
    "BalanceConfig",
    "BenchConfig",
    "BridgeConfig",
    "CalibrationConfig",
    "CellConfig",
    "ControlConfig",
    "CustomConfig",
    "IioConfig",
    "Inches",
    "IndicatorConfig",
    "Lbf",
    "LoadConfig",
    "PressConfig",
    "Psi",
    "StoreConfig",
    "WorksheetConfig",
    "load_config",
]

_KINDS = {"load": "indicator, bridge or iio", "transducer": "loop or ratio"}


class PressConfig(Section, frozen=True):
    """The press: the force its frame and ram are rated for."""

    rating: Lbf


class CellConfig(Section, frozen=True):
    """The crush cell: its bore, and the stress it is rated for."""

    bore: Inches = Inches(cell.STANDARD_BORE_IN)
    rating: Psi = Psi(cell.DEFAULT_RATING_PSI)


class StoreConfig(Section, frozen=True):
    """Where the runs are kept."""

    path: str


class ControlConfig(Section, frozen=True):
    """Where the daemon listens for the screen and the commands."""

    socket: str


class WorksheetConfig(Section, frozen=True):
    """What a new sample is tested by where nothing else is said of it.

    `tests` are in the order in which they are done; `charge_tolerance_g` is how far a charge may
    lie off its target (common practice weighs to 0.001 g, the standard to 0.1 g, from memory).
    """

    edition: str = CURRENT.name
    use: str = "fracturing"
    tests: tuple[str, ...] = (SIEVING, DENSITY, CRUSH)
    charge_tolerance_g: float = 0.1


class CalibrationConfig(Section, frozen=True):
    """Where the certificates lie, and the ids of those in force where it is not the newest."""

    folder: str
    load: str = ""
    balance: str = ""


class BenchConfig(Section, frozen=True):
    """One bench: a press, its cell, its load channel and its balance."""

    bench: str
    press: PressConfig
    load: LoadConfig
    store: StoreConfig
    control: ControlConfig
    cell: CellConfig = CellConfig()
    balance: BalanceConfig | None = None
    calibration: CalibrationConfig | None = None
    rules: Rules = Rules()
    limits: Limits = Limits()
    worksheet: WorksheetConfig = WorksheetConfig()

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
        return msgspec.toml.decode(raw, type=BenchConfig, dec_hook=decode_quantity)
    except msgspec.ValidationError as error:
        raise ConfigError(f"{path}: {_key_named(str(error))}") from None
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise ConfigError(f"{path} is no valid TOML: {error}") from None


_FIELD = re.compile(r"Object (contains unknown|missing required) field `(\w+)`")


def _key_named(message: str) -> str:
    """The decoder's message, with the key as a person finds it in the file."""
    what, _, place = message.partition(" - at ")
    keys = [key for key in re.sub(r"[`$\[\]]", "", place).split(".") if key]
    if field := _FIELD.fullmatch(what):
        keys.append(field[2])
        what = "unknown key" if field[1] == "contains unknown" else "missing key"
    if keys[1:] == ["kind"] or keys[2:] == ["kind"]:
        what += f", expected {_KINDS[keys[-2]]}"
    where = " ".join([*(f"[{key}]" for key in keys[:-1]), *keys[-1:]])
    return f"{where}: {what}" if where else what
