"""`bench.toml`: the bench, decoded into frozen types.

An unknown key is an error, and every error names the file and the key.
"""

import os
from pathlib import Path
from typing import Annotated, Literal

from msgspec import Meta

from ramphold.core import Limits, Rules
from ramphold.daemon._balance_config import BalanceConfig, CustomConfig
from ramphold.daemon._sections import Inches, Lbf, Psi, Section, decode_quantity
from ramphold.daemon.bench_edition import own_edition
from ramphold.daemon.doubted_value import DoubtedValue
from ramphold.daemon.loads import LoadConfig
from ramphold.daemon.plausible_bench import doubts
from ramphold.daemon.plausible_paths import Disk
from ramphold.errors import ConfigError
from ramphold.method import cell
from ramphold.method.editions import CURRENT
from ramphold.publish.broker_config import BrokerConfig
from ramphold.sample import CRUSH, DENSITY, SIEVING
from ramphold.toml_file import decode_toml, read_toml

__all__ = [
    "BalanceConfig",
    "BenchConfig",
    "CalibrationConfig",
    "CellConfig",
    "ControlConfig",
    "CustomConfig",
    "Inches",
    "LaboratoryConfig",
    "Lbf",
    "LoadConfig",
    "PressConfig",
    "Psi",
    "StoreConfig",
    "UnusualConfig",
    "WorksheetConfig",
    "decode_config",
    "doubted",
    "implausible",
    "load_bench",
    "load_config",
]


class PressConfig(Section, frozen=True):
    """The press: the force its frame and ram are rated for."""

    rating: Lbf


class CellConfig(Section, frozen=True):
    """The crush cell: its bore, and the stress it is rated for."""

    bore: Inches = Inches(cell.STANDARD_BORE_IN)
    rating: Psi = Psi(cell.DEFAULT_RATING_PSI)


class StoreConfig(Section, frozen=True):
    """Where the runs are kept, and the folder of what the database refuses of one.

    Without `second` that is the runtime folder of the service or of the session.
    """

    path: str
    second: str = ""


class ControlConfig(Section, frozen=True):
    """Where the daemon listens for the screen and the commands."""

    socket: str


class WorksheetConfig(Section, frozen=True):
    """What a new sample is tested by, unless something else is asked for.

    `edition` is the name of one of the program's, or the path of the laboratory's own file.
    `tests` are in the order in which they are done; `charge_tolerance_g` is how far a charge may
    be off its target (common practice weighs to 0.001 g, the standard to 0.1 g, from memory).
    `density_fills` is how many fills of the cylinder the bulk density is the mean of.
    `guard_band` is the decision rule: how many expanded uncertainties a value must keep from its
    limit to be accepted, 0 for simple acceptance (JCGM 106:2012).
    """

    edition: str = CURRENT
    use: str = "fracturing"
    tests: tuple[str, ...] = (SIEVING, DENSITY, CRUSH)
    charge_tolerance_g: float = 0.1
    density_fills: Annotated[int, Meta(ge=1, le=10)] = 1
    guard_band: Annotated[float, Meta(ge=0, le=3)] = 0.0


class LaboratoryConfig(Section, frozen=True):
    """The head of a report: name, lines of the address, accreditation if any."""

    name: str
    address: tuple[str, ...] = ()
    accreditation: str = ""


class ScreenConfig(Section, frozen=True):
    """What the press place shows first and largest: the stress or the force."""

    first_unit: Literal["psi", "lbf"] = "psi"


class CalibrationConfig(Section, frozen=True):
    """The folder of the certificates, and the ids of those in force instead of the newest."""

    folder: str
    load: str = ""
    balance: str = ""


class UnusualConfig(Section, frozen=True):
    """Why a value that is unlike any bench is right.

    Attributes:
        key, value: section and key of the value, and the value, both as the refusal cites them.
        reason: why it is right; the bench's records and every report have it.
        by: initials of the person who says so.
    """

    key: str
    value: str
    reason: str
    by: str

    def __post_init__(self) -> None:
        for name in ("reason", "by"):
            if not getattr(self, name).strip():
                raise ConfigError(
                    f"[[unusual]] {name} for {self.key} is empty: expected {_NEEDS[name]}"
                )


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
    laboratory: LaboratoryConfig | None = None
    screen: ScreenConfig = ScreenConfig()
    publish: BrokerConfig | None = None
    unusual: tuple[UnusualConfig, ...] = ()

    @property
    def unusual_words(self) -> tuple[str, ...]:
        """The values that are unlike any bench, each with the reason why it stands."""
        return tuple(f"{one.key} of {one.value}: {one.reason} ({one.by})" for one in self.unusual)

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
    """Read a bench's configuration, whatever it says.

    Raises:
        ConfigError: the file can't be read or is no TOML, or a key is missing, unknown or wrong.
    """
    return read_toml(path, BenchConfig, dec_hook=decode_quantity)


def decode_config(text: str, name: str) -> BenchConfig:
    """A configuration from its text; errors call it by its name, and are those of `load_config`."""
    return decode_toml(text.encode(), name, BenchConfig, dec_hook=decode_quantity)


def load_bench(path: Path) -> BenchConfig:
    """Read the configuration of the bench that this computer is to serve.

    Raises:
        ConfigError: as `load_config`; or a value can't be right, or is unlike any bench and has no
            reason.
    """
    config = load_config(path)
    if told := implausible(config):
        more = f" (and {len(told) - 1} more)" if len(told) > 1 else ""
        raise ConfigError(f"{path}: {told[0]}{more}")
    return config


def implausible(config: BenchConfig) -> list[str]:
    """What can't be right, or needs a reason that the file does not give, a line each."""
    found = doubted(config)
    kept = {(one.key, one.value) for one in config.unusual}
    stale = sorted(kept - {(one.key, one.value) for one in found})
    return [
        *(one.line for one in found if not one.reasoned or (one.key, one.value) not in kept),
        *(
            f"[[unusual]] gives a reason for {key} of {value}, which is not so or needs none: "
            "remove it, or correct its value"
            for key, value in stale
        ),
    ]


def doubted(config: BenchConfig) -> list[DoubtedValue]:
    """What can't be right or needs a reason, whether or not the file gives one."""
    return list(doubts(config, _DISK))


def _certainly_missing(path: str) -> bool:
    """Whether there is no such file; one that may not be looked at may be there."""
    try:
        Path(path).stat()
    except (FileNotFoundError, NotADirectoryError):
        return True
    except OSError:
        return False
    return False


_NEEDS = {"reason": "why the value is right", "by": "the initials of who says so"}
_DISK = Disk(
    real=os.path.realpath,
    missing=_certainly_missing,
    folder=os.path.isdir,
    edition=lambda path: own_edition(path)[0],
)
