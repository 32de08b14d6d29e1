"""The pictures of README: there, small, whole in themselves; and the tool that draws them."""

import asyncio
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from _screen_svg import HEIGHT, WIDTH, screen_svg
from textual.app import App
from textual.widgets import Static

ROOT = Path(__file__).parents[1]
PICTURES = ROOT / "tui/pictures"
SHOWN = re.findall(r"!\[[^\]]+\]\((tui/pictures/[\w.]+)\)", (ROOT / "README.md").read_text())
SVG = "{http://www.w3.org/2000/svg}"


def test_readme_shows_each_picture_once_and_says_in_words_what_is_on_it():
    assert sorted(SHOWN) == sorted(str(p.relative_to(ROOT)) for p in PICTURES.iterdir())
    assert len(SHOWN) == 5


@pytest.mark.parametrize("name", SHOWN)
def test_a_picture_is_small(name):
    assert (ROOT / name).stat().st_size < 100_000


@pytest.mark.parametrize("name", [name for name in SHOWN if name.endswith(".svg")])
def test_a_drawn_screen_needs_nothing_from_outside(name):
    text = (ROOT / name).read_text()
    assert "http" not in text.replace(SVG[1:-1], "")
    assert {e.tag for e in ET.fromstring(text).iter()} <= {  # noqa: S314 (our own file)
        SVG + tag for tag in ("svg", "style", "rect", "path", "text")
    }


class Shown(App[None]):
    def __init__(self, text):
        super().__init__()
        self.text = text

    def compose(self):
        yield Static(self.text, markup=False)


@pytest.fixture
def drawn():
    """Draws a text; gives the elements of each kind."""

    async def draw(text):
        app = Shown(text)
        async with app.run_test(size=(10, 2)) as pilot:
            await pilot.pause()
            root = ET.fromstring(screen_svg(app))  # noqa: S314 (our own file)
        assert root.get("viewBox") == f"0 0 {10 * WIDTH} {2 * HEIGHT}"
        return {tag: root.findall(SVG + tag) for tag in ("rect", "path", "text")}

    return lambda text: asyncio.run(draw(text))


def test_words_stand_in_their_cells_whatever_the_font(drawn):
    (word, other) = drawn("load  lbf")["text"]
    assert (word.text, word.get("x"), word.get("textLength")) == ("load", "0", str(4 * WIDTH))
    assert (other.text, other.get("x")) == ("lbf", str(6 * WIDTH))


def test_blocks_are_one_rectangle_without_gaps(drawn):
    ground = len(drawn("")["rect"])
    rects = drawn("███\n███")["rect"]
    assert len(rects) == ground + 1
    block = rects[-1]
    assert (block.get("width"), block.get("height")) == (str(3 * WIDTH), str(2 * HEIGHT))


def test_a_part_of_a_block_is_filled_from_below(drawn):
    half = drawn("▄")["rect"][-1]
    assert (half.get("y"), half.get("height")) == (f"{HEIGHT / 2:g}", f"{HEIGHT / 2:g}")


def test_lines_and_braille_dots_are_paths(drawn):
    (line,) = drawn("─")["path"]
    assert line.get("d").count("M") == 2  # to the left and to the right edge
    (dots,) = drawn("⠉")["path"]
    assert dots.get("d").count("M") == 2
