"""An hour of unplugs, floods, half lines and rubbish at a port, in accelerated time.

`make bench-faults`. A load indicator at 80 lines/s on a clock that each read moves. Every line that
came whole after a whole line must be read once and in order, and no reading may be of no line.
"""

import sys
import time
from collections import Counter
from pathlib import Path

from support.rough_port import faults, listened

HOUR_S = 3600


def main():
    began_s, handles = time.perf_counter(), open_handles()
    port, readings, health = listened(HOUR_S)
    states = Counter(str(one.state) for one in health)
    qualities = Counter(str(one.quality) for one in readings)
    print(f"an hour of a rough port in {time.perf_counter() - began_s:.0f} s")
    print(f"  {len(port.sent)} whole lines and {len(port.spoilt)} after half ones or rubbish")
    print(f"  readings: {', '.join(f'{count} {name}' for name, count in qualities.items())}")
    print(f"  told: {', '.join(f'{name} {count} times' for name, count in states.items())}")
    found = list(faults(port, readings, health))
    if open_handles() > handles:
        found.append("file handles were left open")
    print("\n".join(found) or "  no line lost, none made up, the port reads in the end")
    sys.exit(bool(found))


def open_handles():
    return len(list(Path("/proc/self/fd").iterdir()))


if __name__ == "__main__":
    main()
