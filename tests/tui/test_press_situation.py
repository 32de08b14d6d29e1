"""The facts at the press are found in what the daemon told, and every text of theirs fits."""

from itertools import product

import pytest
from msgspec import structs

from ramphold.core import CueKind, Style
from ramphold_tui.view.press_banner import banner
from ramphold_tui.view.press_pane import press_view
from ramphold_tui.view.press_situation import press_situation
from ramphold_tui.view.situation import (
    Ask,
    Link,
    LoadLevel,
    PressSituation,
    Recording,
    RunOutcome,
    RunStage,
    Warned,
    WarnedStage,
)
from ramphold_tui.view.situation_table import SITUATIONS
from support.press_bench import NOW_NS, USUAL, bench_in, possible

WARNINGS = [
    (Warned.NOTHING, WarnedStage.PASSED),
    *product(sorted(set(Warned) - {Warned.NOTHING}), WarnedStage),
]


def possible_facts():
    for link, run, load, recording, (warned, stage), outcome, ask in product(
        (Link.UP, Link.LOST), RunStage, LoadLevel, Recording, WARNINGS, RunOutcome, Ask
    ):
        coarse = run is RunStage.READY and ask is Ask.NOTHING
        facts = PressSituation(link, run, load, recording, warned, stage, outcome, ask, coarse)
        # Ramp and hold are where cues are heard; elsewhere one stands for all.
        paced = run in {RunStage.RAMP, RunStage.HOLD}
        valve = (run, ask) == (RunStage.RELEASE, Ask.OPEN_VALVE)
        if possible(facts) and (paced or valve or facts.ask in {Ask.NOTHING, Ask.STOP}):
            if coarse:
                yield structs.replace(facts, coarse=False)
            yield facts


def test_what_the_daemon_tells_gives_the_facts_again():
    wrong = [
        (facts, found)
        for facts in possible_facts()
        if (found := press_situation(bench_in(facts), NOW_NS)) != facts
    ]
    assert wrong == []


def test_every_row_is_said_with_its_figures():
    said = {banner(bench_in(facts), NOW_NS).name for facts in possible_facts()}
    assert {row.name for row in SITUATIONS} - said == {"link opening"}


@pytest.mark.parametrize(
    ("style", "detail", "helps"),
    [
        # 0.012 and 1/16 of what a stroke of ten usual pumps gains at 4000 psi, 9 090 psi.
        (
            Style.SQUEEZE,
            "a slip of the lever is about 2.7 %",
            "a smaller pump or a finer valve helps",
        ),
        (
            Style.STROKES,
            "a 1/16 stroke is about 14.2 %",
            "a squeeze (S), a smaller pump",
        ),
    ],
)
def test_a_press_too_coarse_for_the_target_says_its_step_and_what_helps(style, detail, helps):
    facts = PressSituation(run=RunStage.READY, recording=Recording.YES, coarse=True)
    bench = bench_in(facts, USUAL)
    live = structs.replace(bench.live, snapshot=structs.replace(bench.live.snapshot, style=style))
    shown = banner(structs.replace(bench, live=live), NOW_NS)
    assert shown.word == "READY"
    assert shown.detail == f"{detail} of this target: too coarse for ±1 %"
    assert shown.next.startswith(f"first contact; {helps}")
    assert max(len(shown.detail), len(f"next: {shown.next}")) <= 78


def test_every_cue_is_asked_for_by_its_own_name():
    assert [Ask(kind).name for kind in CueKind] == [kind.name for kind in CueKind]


@pytest.mark.parametrize(
    ("ask", "rests"),
    [(Ask.WAIT, True), (Ask.STOP, True), (Ask.SQUEEZE, False), (Ask.FASTER, False)],
)
@pytest.mark.parametrize("run", [RunStage.RAMP, RunStage.HOLD])
def test_the_dial_asks_for_a_pace_only_where_the_word_asks_for_a_pull(run, ask, rests):
    facts = PressSituation(run=run, load=LoadLevel.UNDER_WAY, recording=Recording.YES, ask=ask)
    assert press_view(bench_in(facts), NOW_NS).rests is rests
