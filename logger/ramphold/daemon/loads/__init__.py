"""The kinds of load that a bench may have, one module each."""

from ramphold.daemon.loads.bridge import BridgeConfig
from ramphold.daemon.loads.iio import IioConfig
from ramphold.daemon.loads.indicator import IndicatorConfig

__all__ = ["LoadConfig"]

#: The section `[load]` of `bench.toml`, by its key `kind`: a row for each kind.
LoadConfig = (
    IndicatorConfig
    | BridgeConfig
    | IioConfig
)  # fmt: skip
