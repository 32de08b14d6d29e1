"""The result of an exercise as files: begun before the first run, written again after each."""

import re
from pathlib import Path
from typing import Self

import msgspec

from ramphold.errors import InputError
from ramphold.report.practice import Practice, practice_html

_NS_PER_S = 10**9
_MOST_AT_ONCE = 100


class PracticeFiles:
    """A JSON file and a page beside it.

    Args:
        path: the JSON file.
    """

    def __init__(self, path: Path) -> None:
        self.path = path

    @classmethod
    def begin(cls, folder: Path, practice: Practice) -> Self:
        """Make the files, so that whoever practises knows before that they can be kept.

        Raises:
            InputError: they can't be kept there.
        """
        person = re.sub(r"\W", "_", practice.person)
        name = f"practice-{person}-{practice.utc_ns // _NS_PER_S}"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            for number in range(1, _MOST_AT_ONCE):
                path = folder / f"{name}{'' if number == 1 else f'-{number}'}.json"
                try:
                    path.touch(exist_ok=False)
                except FileExistsError:
                    continue
                files = cls(path)
                files.keep(practice)
                return files
        except OSError as error:
            raise InputError(f"{folder}: can't keep the result there: {error.strerror}") from None
        raise InputError(f"{folder}: it holds {_MOST_AT_ONCE} exercises of this second already")

    def keep(self, practice: Practice) -> None:
        """Write what there is so far.

        Raises:
            InputError: it can't be written.
        """
        pages = {
            self.path: msgspec.json.format(msgspec.json.encode(practice), indent=1),
            self.path.with_suffix(".html"): practice_html(practice).encode(),
        }
        try:
            for path, page in pages.items():
                new = path.with_suffix(".new")
                new.write_bytes(page)
                new.replace(path)
        except OSError as error:
            raise InputError(f"{self.path}: can't keep the result: {error.strerror}") from None

    def forget(self) -> None:
        """Remove the files of an exercise without a run."""
        self.path.unlink(missing_ok=True)
        self.path.with_suffix(".html").unlink(missing_ok=True)
