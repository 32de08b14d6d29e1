"""What the instruments place says of the hands that the pacing knows."""

from msgspec import structs

from ramphold.control.hand_methods import HandKnown, HandsKnown
from ramphold.core import HandLearned, PacingStart
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.hand_table import hand_lines

#: 2026-11-20 12:00 UTC, as `date -u -d @1795176000` has it, in ns.
NOON_NS = 1_795_176_000 * 10**9
START = PacingStart(gain_factor=1.237, gain_sd=0.181, delay_s=0.423)
KL = HandKnown(
    hand="KL",
    press="P1",
    run=12,
    utc_ns=NOON_NS,
    learned=HandLearned(t_ns=1, start=START, cues=41, said_again=3),
    start=START,
)


def test_a_hand_has_its_delay_its_gain_with_the_uncertainty_and_where_they_come_from():
    _, line, *_ = hand_lines(HandsKnown(hands=(KL,), new_hand=PacingStart()))
    words = " ".join(line.text.split())
    assert words.startswith("KL at P1 0.42 s ")
    assert words.endswith("1.24 ± 18 % 3 of 41 run 12, 2026-11-20")
    assert line.tone is Tone.CALM


def test_a_hand_that_can_not_be_used_says_why_in_the_tone_of_a_fault():
    spoilt = structs.replace(
        KL, learned=None, trouble="run 12: delay_s is 50: expected 0.04 to 1.2"
    )
    _, line, *_ = hand_lines(HandsKnown(hands=(spoilt,), new_hand=PacingStart()))
    assert "! not used: run 12: delay_s is 50" in line.text
    assert line.tone is Tone.CAUTION


def test_the_newest_run_comes_first_and_a_new_hand_last_with_what_it_starts_from():
    earlier = structs.replace(KL, hand="AB", run=11, utc_ns=NOON_NS - 1)
    found = HandsKnown(hands=(earlier, KL), new_hand=START, trial_utc_ns=NOON_NS)
    lines = [line.text for line in hand_lines(found)]
    assert [line.split()[0] for line in lines] == ["hand", "KL", "AB", "a", "below"]
    assert lines[-2].endswith("trial of 2026-11-20")
    assert all(len(line) <= 78 for line in lines), "80 columns have room for it"
    nobody = hand_lines(HandsKnown(hands=(), new_hand=PacingStart()))
    assert nobody[-2].text.endswith("a usual press")


def test_the_target_below_which_a_slip_is_too_coarse_goes_by_the_surest_gain():
    unsure = PacingStart(gain_factor=2.0, gain_sd=0.4)
    found = HandsKnown(hands=(structs.replace(KL, start=unsure),), new_hand=PacingStart())
    # 1.2 % of what a stroke gains there, twice 813 psi, is 1 % of 1950 psi: by hand.
    assert hand_lines(found)[-1].text.startswith("below about 1 950 psi ")
    surer = HandsKnown(hands=found.hands, new_hand=PacingStart(gain_sd=0.2))
    assert hand_lines(surer)[-1].text.startswith("below about 820 psi ")
