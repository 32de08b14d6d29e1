"""No error's text is longer than 200 characters, whatever was typed; it still says what to do."""

import pytest

LONG = "A" * 5000


@pytest.mark.parametrize(
    "command",
    [
        ("calc", "force", "--stress", LONG),
        ("calc", "charge", "--bulk-density", LONG),
        ("calc", "sieve", "--size", LONG, "x"),
        ("calc", "class", LONG),
        ("study", "plan", LONG, LONG, "B", "--seed", "1"),
        (
            *("study", "collect", "--archive", LONG, "--reference", "x"),
            *("--stress", "1psi", "--between", "operators"),
        ),
        ("check", "--archive", LONG),
        ("export", LONG),
        ("verify", LONG),
        ("replay", LONG, "--target", "4000psi"),
        ("report", "1", "--db", LONG),
        (LONG,),
        ("calc", "class", " ".join(["word"] * 900)),
    ],
    ids=lambda command: " ".join(one[:12] for one in command[:2]),
)
def test_an_error_is_one_line_of_200_characters_at_most(ramphold, command):
    outcome = ramphold(*command)
    assert outcome.status == 2
    (line,) = outcome.err.splitlines()
    assert 20 < len(line.removeprefix("ramphold: ")) <= 200


def test_what_was_typed_is_cut_and_what_is_expected_is_not(ramphold):
    assert ramphold("calc", "class", LONG[:250]).err.endswith("expected a CSV file\n")
    said = ramphold("calc", "force", "--stress", f"{LONG}psi").err
    assert f"{'A' * 39}…" in said
