"""What the screen is drawn with: marks that a terminal may lack, and letters five rows high."""

from dataclasses import dataclass

__all__ = ["ASCII", "CONSOLE", "UNICODE", "Marks", "big", "marks_for"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """Characters that a terminal is able to show, and whether braille is among them.

    Attributes:
        full, track, line: a filled cell, a thin line along and one up and down.
        ends, middle: the two ends of a spread, and the mean in it.
        braille: whether there are braille dots.
    """

    full: str
    track: str
    line: str
    ends: str
    middle: str
    braille: bool


UNICODE = Marks(full="█", track="─", line="│", ends="├┤", middle="┼", braille=True)
#: The Linux console: its fonts have boxes and the full block, no braille and no half blocks.
CONSOLE = Marks(full="█", track="─", line="│", ends="├┤", middle="┼", braille=False)
ASCII = Marks(full="#", track="-", line="|", ends="[]", middle="+", braille=False)


def marks_for(term: str, encoding: str) -> Marks:
    """The marks for a terminal, by its TERM and its encoding."""
    if "utf" not in encoding.lower():
        return ASCII
    return CONSOLE if term == "linux" else UNICODE


# Strokes are two columns or one row thick, which looks the same on a terminal's tall cells.
_SHAPES = {
    "0": "###### ##..## ##..## ##..## ######",
    "1": "..##.. ####.. ..##.. ..##.. ######",
    "2": "###### ....## ###### ##.... ######",
    "3": "###### ....## .##### ....## ######",
    "4": "##..## ##..## ###### ....## ....##",
    "5": "###### ##.... ###### ....## ######",
    "6": "###### ##.... ###### ##..## ######",
    "7": "###### ....## ...##. ..##.. ..##..",
    "8": "###### ##..## ###### ##..## ######",
    "9": "###### ##..## ###### ....## ######",
    "A": ".####. ##..## ###### ##..## ##..##",
    "B": "#####. ##..## #####. ##..## #####.",
    "C": ".##### ##.... ##.... ##.... .#####",
    "D": "#####. ##..## ##..## ##..## #####.",
    "E": "##### ##... ####. ##... #####",
    "F": "##### ##... ####. ##... ##...",
    "G": ".##### ##.... ##.### ##..## .#####",
    "H": "##..## ##..## ###### ##..## ##..##",
    "I": "## ## ## ## ##",
    "J": "....## ....## ....## ##..## .####.",
    "K": "##..## ##.##. ####.. ##.##. ##..##",
    "L": "##... ##... ##... ##... #####",
    "M": "##...## ###.### ####### ##.#.## ##...##",
    "N": "##...## ###..## ####.## ##.#### ##..###",
    "O": ".####. ##..## ##..## ##..## .####.",
    "P": "#####. ##..## #####. ##.... ##....",
    "Q": ".####. ##..## ##..## ##.##. .###.#",
    "R": "#####. ##..## #####. ##.##. ##..##",
    "S": ".##### ##.... .####. ....## #####.",
    "T": "###### ..##.. ..##.. ..##.. ..##..",
    "U": "##..## ##..## ##..## ##..## .####.",
    "V": "##..## ##..## ##..## .####. ..##..",
    "W": "##...## ##.#.## ####### ###.### ##...##",
    "X": "##..## .####. ..##.. .####. ##..##",
    "Y": "##..## ##..## .####. ..##.. ..##..",
    "Z": "###### ...##. ..##.. .##... ######",
    "-": "..... ..... ##### ..... .....",
    "/": "....## ...##. ..##.. .##... ##....",
    ".": ".. .. .. .. ##",
    ":": ".. ## .. ## ..",
    "!": "## ## ## .. ##",
    " ": ". . . . .",
}
_GLYPHS = {letter: tuple(shape.split(" ")) for letter, shape in _SHAPES.items()}
_UNKNOWN = _GLYPHS["-"]
ROWS = 5


def big(text: str, mark: str, scale: int = 1) -> tuple[str, ...]:
    """Text in letters five rows high, drawn with `mark`; twice the scale is twice the height.

    All rows are of one length.
    """
    glyphs = [_GLYPHS.get(letter, _UNKNOWN) for letter in text.upper()]
    rows = []
    for row in range(ROWS):
        cells = ".".join(glyph[row] for glyph in glyphs)
        drawn = "".join((mark if cell == "#" else " ") * scale for cell in cells)
        rows += [drawn] * scale
    return tuple(rows)
