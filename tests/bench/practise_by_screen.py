"""An exercise by a program that has nothing but the terminal: it reads the screen and holds a key.

    python tests/bench/practise_by_screen.py FOLDER [--runs 3] [--seed 21] [--target 4000]

It runs `ramphold practise` in tmux, looks at the pane now and then, decides what a person would by
what stands there, and acts on it late. Nothing inside the program is known to it: big letters are
read as they are drawn. Each run takes as long as a real one. FOLDER gets the result.
"""

import argparse
import math
import os
import re
import subprocess
import sys
import time
from collections import deque
from pathlib import Path

from ramphold.clock import SystemClock
from ramphold_tui.view.glyphs import ROWS, UNICODE, big

CLOCK = SystemClock()
AREA_IN2 = math.pi
LOOK_S, ACT_S, REPEAT_S = 0.25, 0.3, 0.1
RATE_PSI_S, HOLD_S = 2000 / 60, 120.0
FULL = "█"
FILLED = {FULL, UNICODE.upper, UNICODE.lower}
COLUMNS, LINES = 100, 24
LETTERS = {letter: big(letter, FULL) for letter in "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ:/"}
#: Without an answer one goes by the gauge: on, as long as the load is behind.
PULLS = {"READY", "SEATING", "SQUEEZE", "FASTER", "PULL ON", "TOP UP", "NO ANSWER"}
RELEASES = {"RELEASE", "OPEN VALVE"}


class Pane:
    """A terminal in tmux."""

    def __init__(self, *command: str) -> None:
        self.name = f"practise-{os.getpid()}"
        size = ("-x", str(COLUMNS), "-y", str(LINES))
        self._tmux("new-session", "-d", "-s", self.name, *size, *command)

    def rows(self) -> list[str]:
        """What stands there; empty once the program has ended."""
        return self._tmux("capture-pane", "-p", "-t", self.name).splitlines()

    def press(self, key: str) -> None:
        """Type a key."""
        self._tmux("send-keys", "-t", self.name, key)

    def _tmux(self, *arguments: str) -> str:
        done = subprocess.run(
            ["tmux", *arguments],
            capture_output=True,
            text=True,
            check=False,
        )
        return done.stdout


def big_words(rows: list[str], top: int) -> str:
    """The big letters whose first row is `top`, with a blank for each wider gap."""
    block = [row.ljust(COLUMNS) for row in (rows + [""] * ROWS)[top : top + ROWS]]
    words, at, gap = "", 0, 0
    while at < COLUMNS:
        found = [
            (len(glyph[0]), letter)
            for letter, glyph in LETTERS.items()
            if all(map(str.startswith, (row[at:] for row in block), glyph))
            and any(row[at] == FULL for row in block)
        ]
        if found:
            width, letter = max(found)
            words += (" " if words and gap > 2 else "") + letter
            at, gap = at + width, 0
        else:
            at, gap = at + 1, gap + 1
    return words


def below(rows: list[str], words: str) -> int | None:
    """The row under the first one with these words."""
    return next((at + 1 for at, row in enumerate(rows) if words in row), None)


class Person:
    """Decides by the screen alone whether the key is held, and when the valve is opened."""

    def __init__(self, target_psi: float) -> None:
        self._target_psi = target_psi
        self._there_s: float | None = None

    def decide(self, rows: list[str]) -> str:
        """`pull`, `rest`, `release` or `gone`."""
        if (top := below(rows, "clock, from first contact")) is not None:
            return self._by_gauge(rows, top)
        if any(row.startswith(("verdict", " verdict")) for row in rows):
            return "rest"
        bar = next((row for row in rows if "behind ─" in row or "─ ahead" in row), "")
        # A full bar may look like a letter: only what is a word counts.
        read = (big_words(rows, top) for top in range(len(rows)))
        word = next((found for found in read if found in PULLS | RELEASES), "")
        if word in RELEASES:
            return "release"
        ahead = bool(FILLED & set(bar[COLUMNS // 2 + 1 :]))
        if word == "NO ANSWER":
            ahead = not any(row.startswith(" now ") and " behind " in row for row in rows)
        return "pull" if word in PULLS and not ahead else "rest"

    def _by_gauge(self, rows: list[str], clock_row: int) -> str:
        load, clock = big_words(rows, below(rows, "load lbf") or 0), big_words(rows, clock_row)
        digits, minutes = re.sub(r"\D", "", load), re.fullmatch(r"(\d+) ?: ?(\d\d)", clock)
        if not digits or minutes is None:
            return "rest"
        psi, run_s = int(digits) / AREA_IN2, 60 * int(minutes[1]) + int(minutes[2])
        if self._there_s is None and psi >= 0.99 * self._target_psi:
            self._there_s = run_s
        if self._there_s is not None:
            if run_s - self._there_s >= HOLD_S:
                return "release"
            return "pull" if psi < 0.994 * self._target_psi else "rest"
        line_psi = min(RATE_PSI_S * run_s, self._target_psi)
        return "pull" if psi < max(line_psi, 30.0) else "rest"


def one_run(pane: Pane, target_psi: float) -> None:
    """One run, until the program asks for the next or shows its table."""
    person, seen = Person(target_psi), deque[tuple[float, str]]()
    doing, looked_s, typed_s = "rest", 0.0, 0.0
    while True:
        now_s = CLOCK.now_ns() / 1e9
        if now_s - looked_s >= LOOK_S:
            looked_s, rows = now_s, pane.rows()
            text = "\n".join(rows)
            if "press any key" in text or "lever: key; it" in text or "ramphold: " in text:
                return
            seen.append((now_s, person.decide(rows)))
        while seen and now_s - seen[0][0] >= ACT_S:
            doing = seen.popleft()[1]
        if now_s - typed_s >= REPEAT_S and doing in ("pull", "release"):
            typed_s = now_s
            pane.press("Space" if doing == "pull" else "v")
        time.sleep(0.02)


def main() -> None:
    """Run the exercise, and print what it came to."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--seed", type=int, default=21)
    parser.add_argument("--target", type=float, default=4000.0)
    given = parser.parse_args()
    pane = Pane(
        "sh", "-c",
        f"{sys.executable} -m ramphold.cli practise --by TMUX --runs {given.runs} "
        f"--seed {given.seed} --target {given.target:g}psi --keep {given.folder}; sleep 20",
    )  # fmt: skip
    for _ in range(2 * given.runs):
        while "press any key" not in "\n".join(pane.rows()):
            time.sleep(0.5)
        # What is typed before the program asks is lost.
        while "press any key" in "\n".join(pane.rows()):
            pane.press("x")
            time.sleep(2.0)
        one_run(pane, given.target)
    time.sleep(3.0)
    print("\n".join(row for row in pane.rows() if row.strip()))


if __name__ == "__main__":
    main()
