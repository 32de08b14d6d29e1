"""The kinds of load that a bench may have, one module each."""

from ramphold.daemon.loads.bridge_load import BridgeConfig
from ramphold.daemon.loads.iio_load import IioConfig
from ramphold.daemon.loads.indicator_load import IndicatorConfig

__all__ = ["LoadConfig"]

#: The section `[load]` of `bench.toml`, by its key `kind`: a row for each kind.
LoadConfig = (
    IndicatorConfig
    | BridgeConfig
    | IioConfig
)  # fmt: skip
