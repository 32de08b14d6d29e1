"""Who answers the questions of `ramphold setup`: a person at a terminal, or a file."""

import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Protocol

import click

from ramphold.cli._common import read_bytes
from ramphold.cli._setup_draft import BenchDraft, Question
from ramphold.daemon.doubted_value import DoubtedValue
from ramphold.errors import ConfigError, InputError


class SetupAnswers(Protocol):
    """Answers questions."""

    def value(self, question: Question, default: object) -> Any:  # noqa: ANN401 - as the kind says
        """The value of a key; the default confirmed, or another."""

    def choice(self, question: Question, options: Sequence[str], default: str) -> str:
        """One of some texts, or another text."""

    def reason(self, doubt: DoubtedValue) -> tuple[str, str] | None:
        """Why an unusual value is right, and the initials of who says so; None to correct it."""

    def refused(self, told: str) -> None:
        """Hear that an answer cannot be right; it is asked for again.

        Raises:
            InputError: it would be the same answer again.
        """

    def has_balance(self, *, default: bool) -> bool:
        """Whether the bench has a balance."""

    def agrees(self, words: str, *, default: bool) -> bool:
        """Yes or no."""


class PersonAnswers:
    """A person at a terminal. Ctrl-C or Ctrl-D ends it, and nothing is written."""

    def value(self, question: Question, default: object) -> Any:  # noqa: ANN401
        """As `SetupAnswers.value`."""
        return click.prompt(
            f"  {question.words}", default=default, type=question.kind, show_default=True
        )

    def choice(self, question: Question, options: Sequence[str], default: str) -> str:
        """As `SetupAnswers.choice`: the number of an option, or a text of one's own."""
        shown = str(options.index(default) + 1) if default in options else default
        answer: str = click.prompt(f"  {question.words}", default=shown or None)
        if answer.isdecimal() and 1 <= int(answer) <= len(options):
            return options[int(answer) - 1]
        return answer.strip()

    def reason(self, doubt: DoubtedValue) -> tuple[str, str] | None:
        """As `SetupAnswers.reason`."""
        click.echo(f"  UNUSUAL {doubt.key}: {doubt.value}: {doubt.told}")
        reason = click.prompt(
            "  a reason if it is right, or Enter to correct it", default="", show_default=False
        ).strip()
        if not reason:
            return None
        by = ""
        while not by:
            by = click.prompt("  your initials").strip()
        return reason, by

    def refused(self, told: str) -> None:
        """As `SetupAnswers.refused`."""
        click.echo(f"  NO: {told}")

    def has_balance(self, *, default: bool) -> bool:
        """As `SetupAnswers.has_balance`."""
        return click.confirm("  Is there a balance?", default=default)

    def agrees(self, words: str, *, default: bool) -> bool:
        """As `SetupAnswers.agrees`."""
        return click.confirm(words, default=default)


class FileAnswers:
    """A file with the keys of `bench.toml` that are to be set; what it lacks keeps its value.

    Args:
        path: the file.
        yes: whether an existing configuration may be written over.

    Raises:
        InputError: it can't be read, or is no TOML.
    """

    def __init__(self, path: Path, *, yes: bool) -> None:
        self._path, self._yes = path, yes
        try:
            self._given: dict[str, Any] = tomllib.loads(read_bytes(path).decode())
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            raise InputError(f"{path} is no valid TOML: {error}") from None

    @property
    def given(self) -> dict[str, Any]:
        """All that it sets."""
        return self._given

    def value(self, question: Question, default: object) -> Any:  # noqa: ANN401
        """As `SetupAnswers.value`."""
        table = self._given.get(question.section, {}) if question.section else self._given
        if not isinstance(table, dict):
            raise InputError(f"{self._path}: [{question.section}]: expected a section")
        found = table.get(question.key, default)
        if found is None:
            raise InputError(f"{self._path}: {question.name} is missing: {question.words}")
        return found

    def choice(self, question: Question, options: Sequence[str], default: str) -> str:
        """As `SetupAnswers.choice`: the text itself."""
        del options
        return str(self.value(question, default or None))

    def reason(self, doubt: DoubtedValue) -> tuple[str, str] | None:
        """As `SetupAnswers.reason`: from `[[unusual]]`, for this value alone."""
        for one in self._given.get("unusual", []):
            if (one.get("key"), one.get("value")) == (doubt.key, doubt.value):
                return str(one.get("reason", "")), str(one.get("by", ""))
        raise InputError(f"{self._path}: {doubt.line}")

    def refused(self, told: str) -> None:
        """As `SetupAnswers.refused`."""
        raise InputError(f"{self._path}: {told}")

    def has_balance(self, *, default: bool) -> bool:
        """As `SetupAnswers.has_balance`: one that is named, heard, or there already."""
        return default or "balance" in self._given

    def agrees(self, words: str, *, default: bool) -> bool:
        """As `SetupAnswers.agrees`."""
        del words
        return default or self._yes


def settle(draft: BenchDraft, question: Question, answers: SetupAnswers) -> None:
    """Ask for a key until its value can be right, or stands with a reason."""
    while True:
        before = draft.get(question.section, question.key)
        proposed = question.default if before is None else before
        if draft.is_new and not question.proposed:
            proposed = None
        answer = answers.value(question, proposed)
        draft.put(question.section, question.key, answer)
        try:
            doubts = draft.doubts(question.name)
        except ConfigError as error:
            draft.put(question.section, question.key, before)
            answers.refused(str(error))
            continue
        if all(settle_doubt(draft, one, answers) for one in doubts):
            return
        draft.put(question.section, question.key, before)


def settle_doubt(draft: BenchDraft, doubt: DoubtedValue, answers: SetupAnswers) -> bool:
    """Whether a doubted value stands; with its reason, if one is given."""
    if doubt.reasoned and (doubt.key, doubt.value) in draft.reasons:
        return True  # one reason stands for all that is unusual about a value
    if not doubt.reasoned:
        answers.refused(doubt.line)
        return False
    said = answers.reason(doubt)
    if said is None:
        return False
    draft.keep(doubt, *said)
    return True
