"""The facts at the press are found in what the daemon told, and every text of theirs fits."""

from itertools import product

from ramphold.core import CueKind
from ramphold_tui.view.press_banner import banner
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
from support.press_bench import NOW_NS, bench_in, possible

WARNINGS = [
    (Warned.NOTHING, WarnedStage.PASSED),
    *product(sorted(set(Warned) - {Warned.NOTHING}), WarnedStage),
]


def possible_facts():
    for link, run, load, recording, (warned, stage), outcome, ask in product(
        (Link.UP, Link.LOST), RunStage, LoadLevel, Recording, WARNINGS, RunOutcome, Ask
    ):
        facts = PressSituation(link, run, load, recording, warned, stage, outcome, ask)
        # Ramp and hold are where cues are heard; elsewhere one stands for all.
        paced = run in {RunStage.RAMP, RunStage.HOLD}
        valve = (run, ask) == (RunStage.RELEASE, Ask.OPEN_VALVE)
        if possible(facts) and (paced or valve or facts.ask in {Ask.NOTHING, Ask.STOP}):
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


def test_every_cue_is_asked_for_by_its_own_name():
    assert [Ask(kind).name for kind in CueKind] == [kind.name for kind in CueKind]
