"""The configuration of a bench whose ports no test opens."""

from ramphold.daemon.config import BenchConfig, ControlConfig, Lbf, PressConfig, StoreConfig
from ramphold.daemon.loads.indicator_load import IndicatorConfig


def bench_config(**changed):
    """A press of 50 000 lbf and a load indicator of 40 000 lbf, with some sections replaced."""
    held = {
        "bench": "press 1",
        "press": PressConfig(rating=Lbf(50_000)),
        "load": IndicatorConfig(port="none", capacity=Lbf(40_000)),
        "store": StoreConfig(path="none"),
        "control": ControlConfig(socket="none"),
    }
    return BenchConfig(**(held | changed))
