"""Writes README's table of keys from the screen's own: `make manual`."""

import re
from collections.abc import Iterator
from pathlib import Path

from ramphold_tui.view.keys import KEYS

README = Path(__file__).parents[2] / "README.md"
_PLACE = re.compile(r"(?<=<!-- keys -->\n\n).*?(?=\n<!-- end of keys -->)", re.DOTALL)


def key_table() -> str:
    """All keys, place by place."""
    return "\n".join(_lines()) + "\n"


def written() -> str:
    """The table as README has it."""
    found = _PLACE.search(README.read_text(encoding="utf-8"))
    return found[0] if found else ""


def _lines() -> Iterator[str]:
    yield from ("| where | key | what it does |", "| --- | --- | --- |")
    before = ""
    for key in KEYS:
        where = "" if key.place == before else key.place
        before = key.place
        yield f"| {where} | {key.name} | {key.about} |"


if __name__ == "__main__":
    text = README.read_text(encoding="utf-8")
    README.write_text(_PLACE.sub(lambda _: key_table(), text), encoding="utf-8")
