"""A screen as SVG that every viewer draws alike.

Blocks, lines and braille dots are drawn as shapes: fonts leave gaps between them, or lack them.
Letters are text, stretched to their cells, so that any monospaced font does.
"""

from collections.abc import Iterable, Iterator
from html import escape
from itertools import groupby

from rich.color import Color
from rich.segment import Segment
from rich.terminal_theme import SVG_EXPORT_THEME
from textual.app import App

WIDTH, HEIGHT = 9, 18
_BASELINE = 14
_STROKE = 1.5
# Eighths of a cell that a block fills from below.
_FILLED = {chr(0x2580 + eighths): eighths for eighths in range(1, 9)}
_UPPER = "▀"
# The arms of a line: left, right, up, down.
_ARMS = {"─": "lr", "│": "ud", "├": "rud", "┤": "lud", "┼": "lrud"}
_ENDS = {"l": (0.0, 0.5), "r": (1.0, 0.5), "u": (0.5, 0.0), "d": (0.5, 1.0)}
_BRAILLE = 0x2800
# Column and row of each of a braille cell's dots, by its bit.
_DOTS = ((0, 0), (0, 1), (0, 2), (1, 0), (1, 1), (1, 2), (0, 3), (1, 3))

Cell = tuple[str, str, str, bool]  # character, its colour, the ground's, bold
Filled = tuple[str, float]  # colour, and the share of a cell that stays empty above it


def screen_svg(app: App[None]) -> str:
    """The screen that an application shows now."""
    rows = [list(_cells(strip)) for strip in app.screen._compositor.render_strips()]
    width, height = len(rows[0]) * WIDTH, len(rows) * HEIGHT
    body = [
        *_rectangles([{x: (cell[2], 0.0) for x, cell in enumerate(row)} for row in rows]),
        *_rectangles([dict(_blocks(row)) for row in rows]),
    ]
    for y, row in enumerate(rows):
        body += [*_lines(row, y), *_texts(row, y)]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}">'
        "<style>text{font:15px 'DejaVu Sans Mono',Menlo,Consolas,monospace;white-space:pre}"
        ".b{font-weight:bold}</style>\n" + "\n".join(body) + "\n</svg>\n"
    )


def _cells(strip: Iterable[Segment]) -> Iterator[Cell]:
    for text, style, _ in strip:
        fore, back = _hex(style.color, front=True), _hex(style.bgcolor, front=False)
        if style.reverse:
            fore, back = back, fore
        for character in text:
            yield character, fore, back, bool(style.bold)


def _hex(colour: Color | None, *, front: bool) -> str:
    found = colour or Color.default()
    return found.get_truecolor(SVG_EXPORT_THEME, foreground=front).hex


def _blocks(row: list[Cell]) -> Iterator[tuple[int, Filled]]:
    for x, (character, colour, _, _) in enumerate(row):
        if character in _FILLED:
            yield x, (colour, 1 - _FILLED[character] / 8)


def _rectangles(rows: list[dict[int, Filled]]) -> Iterator[str]:
    """Cells of one colour as few rectangles: rows first, then equal ones under each other."""
    begun: dict[tuple[int, int, str, float], int] = {}
    for y, row in enumerate([*rows, {}]):
        runs = set(_runs(row))
        for run in sorted(set(begun) - runs):
            yield _rectangle(run, begun.pop(run), y)
        for run in sorted(runs):
            if run[3]:  # part of a cell stands alone
                yield _rectangle(run, y, y + 1)
            else:
                begun.setdefault(run, y)


def _runs(row: dict[int, Filled]) -> Iterator[tuple[int, int, str, float]]:
    """First column, number of columns and filling of each stretch of alike cells."""
    for (_, filled), group in groupby(
        enumerate(sorted(row.items())), lambda one: (one[1][0] - one[0], one[1][1])
    ):
        columns = [x for _, (x, _) in group]
        yield columns[0], len(columns), *filled


def _rectangle(run: tuple[int, int, str, float], top: int, under: int) -> str:
    x, columns, colour, empty = run
    height = (under - top - empty) * HEIGHT
    return (
        f'<rect x="{x * WIDTH}" y="{(top + empty) * HEIGHT:g}" width="{columns * WIDTH}" '
        f'height="{height:g}" fill="{colour}"/>'
    )


def _lines(row: list[Cell], y: int) -> Iterator[str]:
    """Line drawing and braille dots of a row, a path for each colour."""
    for colour in sorted({cell[1] for cell in row}):
        strokes, dots = "", ""
        for x, (character, own, _, _) in enumerate(row):
            if own != colour:
                continue
            for arm in _ARMS.get(character, ""):
                right, down = _ENDS[arm]
                strokes += (
                    f"M{(x + 0.5) * WIDTH:g} {(y + 0.5) * HEIGHT:g}"
                    f"L{(x + right) * WIDTH:g} {(y + down) * HEIGHT:g}"
                )
            if character == _UPPER:
                dots += f"M{x * WIDTH} {y * HEIGHT}h{WIDTH}v{HEIGHT // 2}h-{WIDTH}z"
            for right, down in _dots(character):
                dots += f"M{(x + right) * WIDTH:.4g} {(y + down) * HEIGHT:.4g}h3v3h-3z"
        if strokes:
            yield f'<path d="{strokes}" stroke="{colour}" stroke-width="{_STROKE}"/>'
        if dots:
            yield f'<path d="{dots}" fill="{colour}"/>'


def _texts(row: list[Cell], y: int) -> Iterator[str]:
    """The words of a row, each at its place."""
    x = 0
    for (colour, bold, drawn), group in groupby(
        row, lambda cell: (cell[1], cell[3], cell[0] == " " or _shape(cell[0]))
    ):
        text = "".join(cell[0] for cell in group)
        if not drawn:
            weight = ' class="b"' if bold else ""
            yield (
                f'<text x="{x * WIDTH}" y="{y * HEIGHT + _BASELINE}" fill="{colour}" '
                f'textLength="{len(text) * WIDTH}"{weight}>{escape(text)}</text>'
            )
        x += len(text)


def _dots(character: str) -> Iterator[tuple[float, float]]:
    """The corner of each dot of a braille cell, in shares of the cell."""
    bits = ord(character) - _BRAILLE
    if 0 < bits < 1 << len(_DOTS):
        for bit, (column, row) in enumerate(_DOTS):
            if bits >> bit & 1:
                yield 0.14 + column / 2, 0.06 + row / 4


def _shape(character: str) -> bool:
    return (
        character in _FILLED
        or character == _UPPER
        or character in _ARMS
        or 0 <= ord(character) - _BRAILLE < 1 << len(_DOTS)
    )
