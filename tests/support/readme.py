"""README's own commands, as a shell runs them."""

import re
from pathlib import Path

__all__ = ["shell_block"]

README = Path(__file__).parents[2] / "README.md"


def shell_block(heading, file):
    """All commands under a heading of README, about a file of one's own."""
    text = README.read_text(encoding="utf-8")
    section = text.partition(f"{heading}\n")[2].partition("\n### ")[0]
    script = "\n".join(line[4:] for line in section.splitlines() if line.startswith("    "))
    return re.sub(r"^file=.*", f"file={file}", script, count=1)
