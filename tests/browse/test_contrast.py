"""Every colour of text can be read on every ground: WCAG 2.2, success criterion 1.4.3, level AA.

Relative luminance and contrast ratio as WCAG 2.2 defines them.
"""

import re
from importlib import resources

import pytest

from ramphold.report import sheet_style

PAGE = resources.files("ramphold.browse").joinpath("static/page.css").read_text()
TEXTS = ("ink", "soft", "deep", "mark", "bad", "good", "link")
LEAST, LEAST_OF_EDGES = 4.5, 3.0


def palettes():
    """The colours of a light screen, a dark one and paper, by name."""
    blocks = re.findall(r":root \{(.*?)\}", PAGE, re.DOTALL)
    found = [dict(re.findall(r"--(\w+): (#[0-9a-f]{3,6})", one)) for one in blocks]
    assert len(found) == 3
    return found


def luminance(colour):
    digits = colour.lstrip("#")
    if len(digits) == 3:
        digits = "".join(2 * one for one in digits)
    parts = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_black_on_white_is_twenty_one():
    assert contrast("#000", "#ffffff") == pytest.approx(21.0)


@pytest.mark.parametrize("colours", palettes(), ids=["light", "dark", "paper"])
def test_each_colour_of_text_can_be_read_on_each_ground(colours):
    for ground in ("ground", "tint"):
        for text in TEXTS:
            assert contrast(colours[text], colours[ground]) >= LEAST, (text, ground)
    # A button is as its text, the other way round; edges and the mark of the focus are no text.
    assert contrast(colours["ground"], colours["deep"]) >= LEAST
    assert contrast(colours["soft"], colours["ground"]) >= LEAST_OF_EDGES


def test_the_mark_of_the_focus_can_be_seen():
    for colours in palettes()[:2]:
        for ground in ("ground", "tint"):
            assert contrast(colours["focus"], colours[ground]) >= LEAST_OF_EDGES


def test_a_report_can_be_read_too():
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{3,6})", sheet_style(".report")))
    for ground in ("#fff", colours["tint"]):
        for text in ("ink", "soft", "deep", "mark", "bad"):
            assert contrast(colours[text], ground) >= LEAST, (text, ground)
    # `sand` is a line, never a text.
    assert "color: var(--sand)" not in sheet_style(".report")
