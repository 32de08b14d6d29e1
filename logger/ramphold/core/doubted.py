"""Which readings of a trace were doubted: single ones that no press can make.

Not imported by the package itself, so that numpy loads only where it is used.
"""

import math
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from ramphold.core._filters import BURST_NS, JumpGate, reach_psi

Integers: TypeAlias = NDArray[np.int64]
Floats: TypeAlias = NDArray[np.float64]


def doubted(t_ns: Integers, stress_psi: Floats) -> NDArray[np.bool_]:
    """Whether each reading jumps faster than a press can and did not come to stay.

    It goes by the gate that the judged load passes where readings are closer than 0.25 s. A reading
    that the next ones agree with was held back at first and counts all the same; it is not marked.

    Args:
        t_ns: times in ns, rising.
        stress_psi: raw stress; NaN where a reading carries no number, which is never marked.
    """
    marks = np.zeros(len(t_ns), dtype=np.bool_)
    known = np.flatnonzero(~np.isnan(stress_psi))
    times, stresses = t_ns[known], stress_psi[known]
    reach = _reach_psi(np.diff(times))
    jumps = np.flatnonzero(np.abs(np.diff(stresses)) > reach)
    done = 0
    for at in jumps.tolist():
        if at >= done:
            done = _mark(at, known, times, stresses, marks)
    return marks


def _reach_psi(elapsed_ns: Integers) -> Floats:
    slope, offset = reach_psi(1.0) - reach_psi(0.0), reach_psi(0.0)
    reach: Floats = offset + slope * np.maximum(elapsed_ns, 0) / 1e9
    return reach


def _mark(
    at: int, known: Integers, times: Integers, stresses: Floats, marks: NDArray[np.bool_]
) -> int:
    """Go on from the last reading before a jump until the load is believed again; where that is."""
    gate, held = JumpGate(), list[int]()
    # What was read just before has been believed; its times tell of a gap that readings waited in.
    since = max(int(np.searchsorted(times, times[at] - BURST_NS)) - 1, 0)
    for t_ns in times[since : at + 1].tolist():
        gate.feed(t_ns, float(stresses[at]))
    for index in range(at + 1, len(times)):
        t_ns, psi = int(times[index]), float(stresses[index])
        if gate.feed(t_ns, psi):
            marks[known[[one for one in held if not _agrees(one, index, times, stresses)]]] = True
            return index
        held.append(index)
    marks[known[held]] = True
    return len(times)


def _agrees(one: int, other: int, times: Integers, stresses: Floats) -> bool:
    elapsed_s = float(times[other] - times[one]) / 1e9
    return math.fabs(float(stresses[other] - stresses[one])) <= reach_psi(elapsed_s)
