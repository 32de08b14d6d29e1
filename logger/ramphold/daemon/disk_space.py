"""The space that a run needs on the disk, and how many runs there is room for.

Measured: a run of 630 s at 80 readings a second took 7.5 MB at most, 4.2 MB of it the write-ahead
log, which the next run uses again.
"""

#: What the write-ahead log takes beside the runs, and what a reading takes of them.
LOG_BYTES, READING_BYTES = 5_000_000, 80
_RATE_PSI_MIN = 2000.0
# Seating, hold, release, and a hand that takes its time.
_AROUND_S = 420.0


def run_bytes(most_psi: float, per_s: float) -> int:
    """The bytes that the longest run on a cell adds.

    Args:
        most_psi: what the cell is rated for.
        per_s: readings a second.
    """
    lasts_s = most_psi / _RATE_PSI_MIN * 60 + _AROUND_S
    return round(lasts_s * per_s * READING_BYTES)


def runs_left(free: int, one_run: int) -> int:
    """How many runs of that size there is room for."""
    return max(0, (free - LOG_BYTES) // max(one_run, 1))
