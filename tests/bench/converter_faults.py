"""Faults of a bridge converter: what is reported, how fast, and what a reading costs.

Run it from the project's folder: `python tests/bench/converter_faults.py`. All but the last part
is virtual time, so the figures are the same everywhere; the last is this computer's own.
"""

import statistics
import sys
import time

from ramphold.core import Quality
from ramphold.testing import (
    BRIDGE_FAULTS,
    BridgeChip,
    BridgeRig,
    PassingTime,
    VirtualTime,
    interfering,
)


def rig(per_s=80.0, *, gain=128, says=None, held_up=lambda: 0, **chip):
    virtual = VirtualTime()
    return BridgeRig(
        virtual,
        BridgeChip(virtual, per_s=per_s, **chip),
        says=says or per_s,
        gain=gain,
        held_up=held_up,
    )


def fault_row(fault, per_s):
    """What is reported first, after how long, how soon a reading follows once it is mended."""
    bench = rig(per_s)
    bench.run(4)
    began_ns = bench.time.now_ns()
    fault.inject(bench)
    bench.run(1.5)
    first = next(
        one for one in bench.read if one.t_ns >= began_ns and one.quality is not Quality.GOOD
    )
    mended_ns = bench.time.now_ns() if fault.lasts else first.t_ns
    bench.gpio.data_wire = bench.gpio.clock_wire = "joined"
    bench.chip.code = BridgeChip(bench.time).code
    bench.run(3)
    again = next(one for one in bench.good() if one.t_ns > mended_ns)
    wrong = sum(1 for error in bench.errors() if error)
    told_ms, again_ms = (first.t_ns - began_ns) / 1e6, (again.t_ns - mended_ns) / 1e6
    return first.quality, told_ms, again_ms, wrong


def faults():
    print(
        "fault                                                   at   reported             "
        "after ms   reads again ms   false numbers"
    )
    for fault in BRIDGE_FAULTS:
        for per_s in (80, 10):
            quality, told_ms, again_ms, wrong = fault_row(fault, per_s)
            print(
                f"{fault.name[:54]:<54}  {per_s:>3}  {quality:<20} {told_ms:>8.1f}   "
                f"{again_ms:>14.1f}   {wrong:>13}"
            )


def preemption():
    print(
        "\nheld up: share of GPIO calls, up to; frame   good of all    pulse   late   "
        "false   stamp ms p50, max"
    )
    for share, longest_s in ((0, 0.001), (2e-5, 6e-3), (1e-3, 6e-3), (1e-3, 40e-3)):
        for abandoned in ("kept", "replaced"):
            bench = rig(
                held_up=interfering(1, share=share, longest_s=longest_s), abandoned=abandoned
            )
            bench.run(300)
            of = {one: sum(r.quality is one for r in bench.read) for one in Quality}
            late = bench.late_ms()
            wrong = sum(1 for error in bench.errors() if error)
            print(
                f"{share:>14g} {longest_s * 1e3:>12.0f} ms   {abandoned:<8}   "
                f"{of[Quality.GOOD]:>6} of 24000  {of[Quality.PULSE_TOO_LONG]:>6} "
                f"{of[Quality.READ_TOO_LATE]:>6}  {wrong:>6}   "
                f"{statistics.median(late):.2f}, {late[-1]:.2f}"
            )


def rates():
    print("\nconverts at   told   readings in 60 s   skipped   stamp ms p50, max")
    for per_s, says in ((10, 10), (12, 10), (80, 80), (93, 80), (112, 80)):
        bench = rig(per_s, says=says)
        bench.run(3)
        read = bench.run(60)
        late = bench.late_ms()
        print(
            f"{per_s:>11} {says:>6} {len(read):>18} {sum(one.skipped for one in read):>9}   "
            f"{statistics.median(late):.2f}, {late[-1]:.2f}"
        )


def own_cost(seconds):
    """CPU of the reader at 80 a second in real time, with the emulation's own share taken off."""
    passing = PassingTime()
    bench = BridgeRig(passing, BridgeChip(passing))
    bench.run(1)
    halves, began = bench.gpio.half_calls, time.thread_time()
    read = bench.run(seconds)
    whole_s = time.thread_time() - began
    calls = (bench.gpio.half_calls - halves) / 2
    emulated_s = calls * call_cost_s(bench.gpio)
    per = 1e6 / len(read)
    bad = sum(1 for error in bench.errors() if error)
    print(
        f"\nin real time, 80/s, {seconds:g} s: {len(read)} read, "
        f"{sum(one.quality is not Quality.GOOD for one in read)} faults, {bad} false numbers, "
        f"{sum(one.skipped for one in read)} skipped; "
        f"stamp ms p50 {statistics.median(bench.late_ms()):.2f}\n"
        f"a reading costs {whole_s * per:.0f} us of CPU ({100 * whole_s / seconds:.1f} % of a "
        f"core) in {calls / len(read):.0f} GPIO calls, of which the emulation takes "
        f"{emulated_s * per:.0f} us and ours and the library's {(whole_s - emulated_s) * per:.0f}"
    )


def call_cost_s(gpio):
    """What a call of the emulation costs, in s of CPU."""
    frames = 2000
    low, high = gpio.line.Value.INACTIVE, gpio.line.Value.ACTIVE
    began = time.thread_time()
    for _ in range(frames):
        for _ in range(25):
            gpio.set_value(13, high)
            gpio.set_value(13, low)
            gpio.get_value(5)
    return (time.thread_time() - began) / frames / 75


if __name__ == "__main__":
    faults()
    preemption()
    rates()
    own_cost(float(sys.argv[1]) if len(sys.argv) > 1 else 20.0)
