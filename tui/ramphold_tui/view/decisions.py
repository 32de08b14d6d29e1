"""What a person can decide about a specimen."""

from collections.abc import Iterator

from msgspec import Struct

from ramphold_tui.view.worksheet_parts import WorksheetPart


class Decision(Struct, frozen=True, kw_only=True):
    """One decision.

    Attributes:
        text: the decision in words.
        yes: the run counts, or the specimen is left out.
        run: the run that is decided on; None if it is the specimen.
    """

    text: str
    yes: bool
    run: int | None = None


def decisions(part: WorksheetPart) -> tuple[Decision, ...]:
    """Those on the judged run, then those on the specimen."""
    return tuple(_decisions(part))


def _decisions(part: WorksheetPart) -> Iterator[Decision]:
    one = part.specimen
    if one is None:
        return
    if one.run is not None and one.run.verdict is not None:
        number, failed = one.run.run, [c.name for c in one.run.checks if c.passed is False]
        but = f" although it failed: {', '.join(failed) or one.run.state}"
        passed = one.run.verdict == "pass"
        counts = Decision(text=f"run {number} counts{'' if passed else but}", yes=True, run=number)
        not_so = Decision(text=f"run {number} does not count", yes=False, run=number)
        # The ready one is what the assessment says: nobody makes a failed run count by mistake.
        yield from (counts, not_so) if passed else (not_so, counts)
    if one.exclusion is None:
        yield Decision(text=f"leave {part.name} out of the result", yes=True)
    else:
        yield Decision(text=f"take {part.name} into the result again", yes=False)
