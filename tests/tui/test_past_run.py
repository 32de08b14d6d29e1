"""A past run in words."""

from dataclasses import replace

from ramphold.core import EndRun, RunState
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.past_run import run_rows, run_title


def ended(bench, t_s):
    """The run up to a time, ended by the operator where it has not ended by itself."""
    bench.feed_until(t_s)
    if not bench.tracker.ended:
        bench.tracker.command(EndRun(reason="enough"), bench.newest.t_ns)
    return replace(
        bench.record(),
        reason="load released",
        ended_t_ns=bench.newest.t_ns,
        assessment=bench.tracker.assess(),
        state=bench.tracker.state,
    )


def test_each_check_says_what_was_measured_what_is_allowed_and_whether_it_is_within_limits(bench):
    rows = [row.text.split() for row in run_rows(ended(bench, 245))]
    assert rows[0] == ["check", "measured", "allowed", "within", "limits"]
    # The drawn run rises at 2000 psi/min and holds 4000 psi for 120 s.
    assert rows[1] == ["ramp", "rate", "2000.00", "psi/min", "1800.00", "to", "2200.00", "yes"]
    assert rows[3][:1] + rows[3][2:] == ["overshoot", "%", "up", "to", "2.00", "yes"]
    assert ["calibration", "--", "not", "judged", "-"] in rows
    assert rows[-1][:3] == ["within", "every", "limit:"]


def test_what_failed_is_marked_and_named_last(bench):
    run = ended(bench, 100)
    rows = run_rows(run)
    assert rows[-1].text == "! failed: hold time"
    marked = [row for row in rows if row.text.startswith("! ")]
    assert all(row.tone is Tone.CAUTION for row in marked)
    assert any(row.text.endswith("NO") for row in marked)


def test_the_title_says_which_run_it_is_and_its_verdict(bench):
    title = run_title(ended(bench, 245), "9K-4")
    assert title.text == "run 7  9K-4  4 000 psi  1970-01-01  KL  complete: pass"
    assert title.tone is Tone.CALM


def test_a_verdict_of_fail_asks_for_attention_in_the_title(bench):
    title = run_title(ended(bench, 100), "9K-4")
    assert title.text.endswith("stopped: FAIL")
    assert title.tone is Tone.CAUTION


def test_a_run_that_was_not_judged_says_why(bench):
    bench.feed_until(100)
    live = bench.record()
    assert run_rows(live)[0].text == "not judged: the run goes on, no reason given"
    cut = replace(live, state=RunState.INTERRUPTED, ended_t_ns=5, reason="the daemon died")
    assert run_rows(cut)[0].text == "not judged: the run ended as interrupted, the daemon died"
    assert run_title(cut, "a").text.endswith("interrupted: not judged")
