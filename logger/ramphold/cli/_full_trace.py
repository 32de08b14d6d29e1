"""The readings of a run with what follows from them: seconds, UTC, stress, and doubts."""

import math
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import numpy as np

from ramphold.core.doubted import doubted
from ramphold.core.trace import Trace
from ramphold.method.cell import area_in2
from ramphold.wire import RunRecord
from ramphold.wire.packed_trace import TRACE_HEADER

#: The columns of the raw trace, then those that follow from them.
FULL_HEADER = (*TRACE_HEADER.split(","), "t_s", "utc", "stress_psi", "doubted")


def full_rows(run: RunRecord, trace: Trace) -> Iterator[list[Any]]:
    """A row for each reading, by the columns of `FULL_HEADER`.

    Seconds count from the start of the run; UTC follows from the clocks at its start, to the
    microsecond. Stress is that of the bore of the run's plan, None without a number. `doubted` is
    whether the reading jumps as no press can.
    """
    stresses = trace.stress_psi(area_in2(run.plan.bore_in))
    marks = doubted(np.asarray(trace.t_ns), np.asarray(stresses)).tolist()
    for one, psi, mark in zip(trace.readings(), stresses, marks, strict=True):
        since_ns = one.t_ns - run.started_t_ns
        utc = datetime.fromtimestamp((run.started_utc_ns + since_ns) // 1000 / 1e6, UTC)
        yield [
            one.t_ns,
            one.raw,
            one.exponent,
            one.unit,
            str(one.quality),
            None if math.isnan(one.force_lbf) else one.force_lbf + 0.0,
            one.line.hex(),
            since_ns / 1e9,
            utc.isoformat(timespec="microseconds").replace("+00:00", "Z"),
            None if math.isnan(psi) else round(psi, 3),
            bool(mark),
        ]
