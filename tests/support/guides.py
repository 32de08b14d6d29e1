"""The commands of README and the guides."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
GUIDES = sorted((ROOT / "guides").glob("*.md"))


def blocks(text):
    """The lines of code blocks, continued ones joined."""
    text = re.sub(r" \\\n\s+", " ", text)
    return [line[4:] for line in text.splitlines() if re.match(r"    \S", line)]


def of_program(line):
    """The words after `ramphold` of a line that calls it; None for another."""
    match = re.match(r"(?:\$ )?(?:sudo (?:-u ramphold )?)?(?:\.venv/bin/)?ramphold (.+)", line)
    return match[1].split() if match and not re.search(r"[>|…]", match[1]) else None


def calls(text):
    """All calls of the program in a text, in blocks and within lines."""
    inline = [" ".join(one.split()) for one in re.findall(r"`(ramphold [^`]+)`", text)]
    return [words for line in (*blocks(text), *inline) if (words := of_program(line))]
