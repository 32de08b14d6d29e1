"""Ends the program with its terminal, also with one that vanishes without a signal."""

import os
import select
import signal
import sys
import threading
import time

# Whoever handles the signal has so long to close what is open.
_CLOSING_S = 5.0


def end_with_terminal() -> None:
    """From now on, do as a hangup signal does when the terminal hangs up.

    The kernel sends that signal only to a session that the terminal controls. Textual reads a
    terminal that is gone for ever, and waits for ever for one that takes no output any more.
    """
    threading.Thread(target=_end, name="terminal", daemon=True).start()


def _end() -> None:
    hung_up = select.poll()
    for stream in (sys.__stdin__, sys.__stderr__):
        if stream is not None:
            hung_up.register(stream, 0)  # hangups and errors alone, which are always told
    hung_up.poll()
    os.kill(os.getpid(), signal.SIGHUP)
    time.sleep(_CLOSING_S)
    os._exit(128 + signal.SIGHUP)
