"""Marks that a terminal may lack, and letters five rows high."""

from msgspec import Struct


class Marks(Struct, frozen=True, kw_only=True):
    """Characters that a terminal can show.

    Attributes:
        full, track, line: a filled cell, a thin horizontal and a thin vertical line.
        lower, upper: half a filled cell, so that a bar and the letters beside it stay apart.
        ends, middle: the ends of a spread, and its mean.
        braille: whether it has braille dots.
    """

    full: str
    track: str
    line: str
    lower: str
    upper: str
    ends: str
    middle: str
    braille: bool


UNICODE = Marks(
    full="█", track="─", line="│", lower="▄", upper="▀", ends="├┤", middle="┼", braille=True
)
#: The Linux console, whose fonts have no braille and no half blocks.
CONSOLE = Marks(
    full="█", track="─", line="│", lower="█", upper="█", ends="├┤", middle="┼", braille=False
)
ASCII = Marks(
    full="#", track="-", line="|", lower="#", upper="#", ends="[]", middle="+", braille=False
)


def marks_for(term: str, encoding: str) -> Marks:
    """The marks of a terminal, by its TERM and its encoding."""
    if "utf" not in encoding.lower():
        return ASCII
    return CONSOLE if term == "linux" else UNICODE


# A stroke is two columns wide or one row high, which looks alike since cells are tall.
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
    # The unit of seconds, low so that it is no five.
    "s": "..... .#### ###.. ..### ####.",
}
# The same for little room: strokes of one column, three columns to most letters.
_NARROW_SHAPES = {
    "0": "### #.# #.# #.# ###",
    "1": ".#. ##. .#. .#. ###",
    "2": "### ..# ### #.. ###",
    "3": "### ..# .## ..# ###",
    "4": "#.# #.# ### ..# ..#",
    "5": "### #.. ### ..# ###",
    "6": "### #.. ### #.# ###",
    "7": "### ..# .#. .#. .#.",
    "8": "### #.# ### #.# ###",
    "9": "### #.# ### ..# ###",
    "A": ".#. #.# ### #.# #.#",
    "B": "##. #.# ##. #.# ##.",
    "C": ".## #.. #.. #.. .##",
    "D": "##. #.# #.# #.# ##.",
    "E": "### #.. ##. #.. ###",
    "F": "### #.. ##. #.. #..",
    "G": ".## #.. #.# #.# .##",
    "H": "#.# #.# ### #.# #.#",
    "I": "# # # # #",
    "J": "..# ..# ..# #.# .#.",
    "K": "#.# #.# ##. #.# #.#",
    "L": "#.. #.. #.. #.. ###",
    "M": "#...# ##.## #.#.# #...# #...#",
    "N": "#..# ##.# #.## #..# #..#",
    "O": ".#. #.# #.# #.# .#.",
    "P": "##. #.# ##. #.. #..",
    "Q": ".#. #.# #.# #.# .##",
    "R": "##. #.# ##. #.# #.#",
    "S": ".## #.. .#. ..# ##.",
    "T": "### .#. .#. .#. .#.",
    "U": "#.# #.# #.# #.# ###",
    "V": "#.# #.# #.# #.# .#.",
    "W": "#...# #...# #.#.# ##.## #...#",
    "X": "#.# #.# .#. #.# #.#",
    "Y": "#.# #.# .#. .#. .#.",
    "Z": "### ..# .#. #.. ###",
    "-": "... ... ### ... ...",
    "/": "..# ..# .#. #.. #..",
    ".": ". . . . #",
    ":": ". # . # .",
    "!": "# # # . #",
    " ": ". . . . .",
    "s": "... .## ##. ..# ##.",
}
ROWS = 5
#: Rows of letters twice as large.
LARGE_ROWS = 2 * ROWS


def _cut(shapes: dict[str, str]) -> dict[str, tuple[str, ...]]:
    return {letter: tuple(shape.split(" ")) for letter, shape in shapes.items()}


_GLYPHS, _NARROW = _cut(_SHAPES), _cut(_NARROW_SHAPES)


def big(text: str, mark: str, scale: int = 1) -> tuple[str, ...]:
    """Text in letters of five rows times `scale`, drawn with `mark`; all rows have one length."""
    return _drawn(_cells(text, _GLYPHS), mark, wide=scale, high=scale)


def tall(text: str, mark: str) -> tuple[str, ...]:
    """Text in letters of ten rows that are no wider than those of five, a little further apart."""
    return _drawn(_cells(text, _GLYPHS, gap=2), mark, high=2)


def narrow(text: str, mark: str) -> tuple[str, ...]:
    """Text in narrow letters of five rows."""
    return _drawn(_cells(text, _NARROW), mark)


def _cells(text: str, font: dict[str, tuple[str, ...]], gap: int = 1) -> list[str]:
    glyphs = [font.get(letter) or font.get(letter.upper(), font["-"]) for letter in text]
    return [("." * gap).join(glyph[row] for glyph in glyphs) for row in range(ROWS)]


def _drawn(cells: list[str], mark: str, *, wide: int = 1, high: int = 1) -> tuple[str, ...]:
    rows = ("".join((mark if cell == "#" else " ") * wide for cell in row) for row in cells)
    return tuple(row for row in rows for _ in range(high))
