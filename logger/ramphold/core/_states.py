"""The states of a run and every transition between them.

The table has all transitions. It knows nothing of instruments, loads or clocks. A pair that is not
in it is a bug and raises.
"""

from enum import StrEnum

from ramphold.errors import TransitionError


class RunState(StrEnum):
    """The state of a run, in the words of the trade."""

    READY = "ready"
    SEATING = "seating"
    RAMP = "ramp"
    HOLD = "hold"
    RELEASE = "release"
    COMPLETE = "complete"
    STOPPED = "stopped"
    INTERRUPTED = "interrupted"


#: The same by themselves, for what looks at each reading: an enum is slow to give one.
READY, SEATING, RAMP, HOLD, RELEASE, COMPLETE, STOPPED, INTERRUPTED = RunState


class Trigger(StrEnum):
    """What causes a transition."""

    CONTACT = "contact"
    CONTACT_LOST = "contact lost"
    SEATED = "seated"
    TARGET_HELD = "target held"
    HOLD_UP = "hold up"
    RELEASED = "released"
    ENDED = "ended"
    DAEMON_DIED = "daemon died"


_S, _T = RunState, Trigger

_TABLE: dict[RunState, dict[Trigger, RunState]] = {
    _S.READY: {_T.CONTACT: _S.SEATING},
    _S.SEATING: {_T.CONTACT_LOST: _S.READY, _T.SEATED: _S.RAMP},
    _S.RAMP: {_T.TARGET_HELD: _S.HOLD, _T.RELEASED: _S.STOPPED},
    _S.HOLD: {_T.HOLD_UP: _S.RELEASE, _T.RELEASED: _S.STOPPED},
    _S.RELEASE: {_T.RELEASED: _S.COMPLETE},
    _S.COMPLETE: {},
    _S.STOPPED: {},
    _S.INTERRUPTED: {},
}

#: The final states.
ENDED = frozenset(state for state, ways in _TABLE.items() if not ways)

# In any live state the operator may end the run, and the daemon may die.
for _state in _TABLE.keys() - ENDED:
    _TABLE[_state] |= {_T.ENDED: _S.STOPPED, _T.DAEMON_DIED: _S.INTERRUPTED}


def next_state(state: RunState, trigger: Trigger) -> RunState:
    """The state that `trigger` leads to from `state`.

    Raises:
        TransitionError: the table has no such transition.
    """
    try:
        return _TABLE[state][trigger]
    except KeyError:
        raise TransitionError(f"a run that is {state} can't take {trigger!r}") from None
