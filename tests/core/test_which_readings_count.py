"""Which readings the pacing believes, and which rises tell how a hand pumps."""

import pytest

from ramphold.core import RunPlan, RunState, Style
from ramphold.core._accounts import HoldAccount, RampAccount
from ramphold.core._pacing import Pacer

PLAN = RunPlan(target_psi=4000)
TENTH_NS = 100_000_000


def fed(state, psi, style=Style.SQUEEZE, **flags):
    pacer = Pacer(PLAN)
    pacer.style = style
    for n, one in enumerate(psi):
        pacer.feed(
            n * TENTH_NS, one, state, ramp=RampAccount(PLAN, 0, 100.0),
            hold=HoldAccount(PLAN, 0, 4000.0), period_ns=TENTH_NS, **flags,
        )  # fmt: skip
    return pacer


@pytest.mark.parametrize(
    ("state", "style", "believed"),
    [
        (RunState.SEATING, Style.SQUEEZE, True),
        (RunState.SEATING, Style.STROKES, True),
        (RunState.RAMP, Style.STROKES, True),
        (RunState.RAMP, Style.SQUEEZE, False),
        (RunState.HOLD, Style.SQUEEZE, False),
        (RunState.HOLD, Style.STROKES, False),
    ],
)
def test_what_no_squeeze_could_do_is_doubted_only_where_the_load_is_squeezed(
    state, style, believed
):
    assert bool(fed(state, [500.0] * 20, style, darts=True).past_psi) is believed
    assert fed(state, [500.0] * 20, style).past_psi


def test_what_no_press_could_do_is_doubted_everywhere():
    for state in (RunState.SEATING, RunState.RAMP, RunState.HOLD):
        assert fed(state, [500.0] * 20, jumps=True).past_psi == ()


#: Eight strokes of 60 psi in three tenths of a second, with rests between them.
STROKES = [
    200.0 + 60.0 * stroke + 20.0 * min(tenth, 3) for stroke in range(8) for tenth in range(20)
]


@pytest.mark.parametrize(
    ("state", "style"), [(RunState.SEATING, None), (RunState.RAMP, Style.STROKES)]
)
def test_only_the_ramp_tells_how_a_hand_pumps(state, style):
    assert fed(state, STROKES).suggested_style is style


def test_slow_pulls_are_a_squeeze():
    pulls = [200.0 + 60.0 * pull + 3.0 * min(tenth, 20) for pull in range(8) for tenth in range(30)]
    assert fed(RunState.RAMP, pulls).suggested_style is Style.SQUEEZE
