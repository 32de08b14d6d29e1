"""Whether the load is being read and its readings processed, or its port is being tried."""

# A network port may take this long to find out that nobody answers.
_STUCK_S = 30.0
_UNTAKEN_S = 5.0


class Watchdog:
    """Compares how far reading and processing have come, and says whether both go on.

    A silent instrument is well: its thread comes round. A thread that does not, or readings that
    came and were not taken, are the faults that only a restart ends.
    """

    def __init__(self, now_s: float) -> None:
        self._round = self._taken = 0
        self._round_s = self._taken_s = now_s

    def well(self, now_s: float, *, rounds: int, read: int, taken: int) -> bool:
        """Whether all goes on.

        Args:
            now_s: the time in s, on a clock that only goes forward.
            rounds: number of passes of the loop of the load's thread.
            read: readings that it has handed over.
            taken: those that the press has taken in.
        """
        if rounds != self._round:
            self._round, self._round_s = rounds, now_s
        if taken != self._taken or read == taken:
            self._taken, self._taken_s = taken, now_s
        return now_s - self._round_s < _STUCK_S and now_s - self._taken_s < _UNTAKEN_S
