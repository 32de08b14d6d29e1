"""A run's readings as its load over time."""

from array import array
from collections.abc import Sequence

from ramphold.core._readings import Reading
from ramphold.sample import Trace

__all__ = ["as_trace"]


def as_trace(run: int, readings: Sequence[Reading], start_ns: int, area_in2: float) -> Trace:
    """The readings of a run as stress over the area of its bore, by time since its start."""
    return Trace(
        run=run,
        t_s=array("d", ((one.t_ns - start_ns) / 1e9 for one in readings)),
        stress_psi=array("d", (one.force_lbf / area_in2 for one in readings)),
    )
