"""What a trial says of the signal: how even a pull is, spikes, rate, the fastest rise."""

import statistics
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from ramphold.core._filters import JumpGate, SteadyLoad
from ramphold.core._strokes import Rises
from ramphold.core._trial import PullSeen
from ramphold.method.regression import fit

Loads = Sequence[tuple[int, float]]

#: A pull shorter than this says nothing.
LEAST_PULL_S = 5
_NS_PER_S = 1_000_000_000
_FAST_OVER_NS = _NS_PER_S // 10


def pull(steadied: Loads) -> PullSeen | None:
    """The longest pull between two lever returns, in whole seconds."""
    longest = max(_pulls(steadied), key=len, default=[])
    rates = [
        (second[-1][1] - second[0][1]) * _NS_PER_S / (second[-1][0] - second[0][0])
        for second in longest
        if second[-1][0] > second[0][0]
    ]
    if len(rates) < LEAST_PULL_S:
        return None
    held = [one for second in longest for one in second]
    t_s = [(t_ns - held[0][0]) / _NS_PER_S for t_ns, _ in held]
    psi = [value for _, value in held]
    curve = fit(t_s, psi, degree=2)
    return PullSeen(
        lasted_s=len(longest),
        rate_psi_s=statistics.fmean(rates),
        uneven_pct=100 * statistics.pstdev(rates) / statistics.fmean(rates),
        off_curve_psi=statistics.fmean(
            (value - curve.at(at)) ** 2 for at, value in zip(t_s, psi, strict=True)
        )
        ** 0.5,
    )


def _pulls(steadied: Loads) -> Iterator[list[Loads]]:
    """Runs of seconds in each of which the load rose."""
    start_ns = steadied[0][0] if steadied else 0
    seconds = [
        list(part)
        for _, part in groupby(steadied, key=lambda one: (one[0] - start_ns) // _NS_PER_S)
    ]
    for rose, run in groupby(seconds, key=lambda part: part[-1][1] - part[0][1] > Rises.END_PSI):
        if rose:
            yield list(run)


def spikes(seen: Iterable[Loads]) -> tuple[int, int]:
    """How many spikes lasted one reading, and how many two."""
    lengths: list[int] = []
    for loads in seen:
        gate = JumpGate()
        believed = [gate.feed(t_ns, psi) for t_ns, psi in loads]
        lengths += (len(list(run)) for kept, run in groupby(believed) if not kept)
    return lengths.count(1), lengths.count(2)


def rate(seen: Sequence[Loads]) -> float:
    """Readings a second."""
    spans_s = [(held[-1][0] - held[0][0]) / _NS_PER_S for held in seen if len(held) > 1]
    steps = sum(len(held) - 1 for held in seen if len(held) > 1)
    return steps / sum(spans_s) if spans_s else 0.0


def fastest(seen: Iterable[Loads]) -> float | None:
    """Fastest rise of the load over a tenth of a second, in psi/s; None where there was none."""
    most: float | None = None
    for loads in seen:
        steady = SteadyLoad()
        held = [one for t_ns, psi in loads if (one := steady.feed(t_ns, psi)) is not None]
        behind = iter(held)
        start = next(behind, None)
        for t_ns, psi in held:
            while start is not None and start[0] < t_ns - _FAST_OVER_NS:
                start = next(behind)
            if start is not None and t_ns - start[0] > _FAST_OVER_NS // 2:
                speed = (psi - start[1]) * _NS_PER_S / (t_ns - start[0])
                most = speed if most is None else max(most, speed)
    return most
