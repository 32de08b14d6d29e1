"""`bench.toml`: the bench, decoded into frozen types.

An unknown key is an error, and every error names the file and the key.
"""

from pathlib import Path
from typing import Annotated, Literal

from msgspec import Meta

from ramphold.core import Limits, Rules
from ramphold.daemon._balance_config import BalanceConfig, CustomConfig
from ramphold.daemon._sections import Inches, Lbf, Psi, Section, decode_quantity
from ramphold.daemon.loads import LoadConfig
from ramphold.method import cell
from ramphold.method.editions import CURRENT
from ramphold.publish.broker_config import BrokerConfig
from ramphold.sample import CRUSH, DENSITY, SIEVING
from ramphold.toml_file import read_toml
from ramphold.wire import check_bench

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
    "WorksheetConfig",
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

    `tests` are in the order in which they are done; `charge_tolerance_g` is how far a charge may
    be off its target (common practice weighs to 0.001 g, the standard to 0.1 g, from memory).
    `guard_band` is the decision rule: how many expanded uncertainties a value must keep from its
    limit to be accepted, 0 for simple acceptance (JCGM 106:2012).
    """

    edition: str = CURRENT.name
    use: str = "fracturing"
    tests: tuple[str, ...] = (SIEVING, DENSITY, CRUSH)
    charge_tolerance_g: float = 0.1
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

    def __post_init__(self) -> None:
        """Check that the name of a bench that publishes can be part of a topic."""
        if self.publish is not None:
            check_bench(self.bench)

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
    return read_toml(path, BenchConfig, dec_hook=decode_quantity)
