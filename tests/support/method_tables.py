"""DEVELOPERS.md's tables of methods, topics and situations, from their declarations.

`python tests/support/method_tables.py` writes them into the file.
"""

import re
from pathlib import Path

from msgspec import structs

from ramphold.control.act import Act, RunNeed
from ramphold.control.methods import METHODS, TOPICS
from ramphold.sample import kind_name
from ramphold_tui.view.situation_table import ONWARD, SITUATIONS

DEVELOPERS = Path(__file__).parent.parent.parent / "DEVELOPERS.md"
_RUN = {RunNeed.ANY: "", RunNeed.REQUIRED: "needs one", RunNeed.REFUSED: "refuses one"}


def written(text):
    """The text of DEVELOPERS.md, with its tables as they are declared."""
    for name, lines in (
        ("methods", _methods()),
        ("topics", _topics()),
        ("situations", _situations()),
    ):
        begin, end = f"<!-- {name} -->\n", f"<!-- end of {name} -->"
        table = begin + "\n" + "\n".join(lines) + "\n\n" + end
        text = re.sub(f"{begin}.*?{end}", lambda _, table=table: table, text, flags=re.DOTALL)
    return text


def _methods():
    yield "| method | parameters | by | live run | record, topic | what it does |"
    yield "| --- | --- | --- | --- | --- | --- |"
    for method in METHODS.values():
        cells = (
            f"`{method.name}`",
            _parameters(method.params),
            "initials" if method.needs_initials else "anyone",
            _RUN[method.live_run],
            _outcome(method),
            method.about,
        )
        yield "| " + " | ".join(cells) + " |"


def _parameters(params):
    fields = [one for one in structs.fields(params) if one.name != "operator" or not one.required]
    return ", ".join(one.name if one.required else f"[{one.name}]" for one in fields)


def _outcome(method):
    if isinstance(method, Act):
        return f"{kind_name(method.result)}, `{method.topic.name}`"
    return f"`{method.topic.name}`" if method.topic else ""


def _situations():
    yield "| situation | where it fits | word | sentence | next | colour | sound |"
    yield "| --- | --- | --- | --- | --- | --- | --- |"
    for row in SITUATIONS:
        cells = (row.name, _where(row), row.word, row.sentence, row.next, row.tone, row.sound or "")
        yield "| " + " | ".join(cells) + " |"
    yield ""
    yield "| run | `{onward}` |"
    yield "| --- | --- |"
    for run, words in ONWARD.items():
        yield f"| {run} | {words} |"


def _where(row):
    asked = {"ask": "asked to", "warned": "warned of", "stage": "which is"}
    parts = []
    for name in ("link", "warned", "stage", "run", "load", "recording", "outcome", "ask"):
        if values := getattr(row, name):
            # In the order of their declaration, which sets do not keep.
            said = [str(one) for one in type(next(iter(values))) if one in values]
            parts.append(f"{asked.get(name, name)} {' or '.join(said)}")
    if row.coarse:
        parts.append("press too coarse for the target")
    return "; ".join(parts)


def _topics():
    yield "| topic | a slow client gets | what it tells |"
    yield "| --- | --- | --- |"
    for topic in TOPICS.values():
        slow = "the newest only" if topic.replaceable else "all, or is dropped"
        yield f"| `{topic.name}` | {slow} | {topic.about} |"


if __name__ == "__main__":
    DEVELOPERS.write_text(written(DEVELOPERS.read_text()))
