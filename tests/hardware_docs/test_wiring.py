import re
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

SVG = "{http://www.w3.org/2000/svg}"
# published: gpiozero/pins/data.py, PLUS_J8, PI4_J8: the 40-pin header of every Pi since the B+.
HEADER = """
    3.3 V   5 V     GPIO2   5 V     GPIO3   ground  GPIO4   GPIO14  ground  GPIO15
    GPIO17  GPIO18  GPIO27  ground  GPIO22  GPIO23  3.3 V   GPIO24  GPIO10  ground
    GPIO9   GPIO25  GPIO11  GPIO8   ground  GPIO7   GPIO0   GPIO1   GPIO5   ground
    GPIO6   GPIO12  GPIO13  ground  GPIO19  GPIO16  GPIO26  GPIO20  ground  GPIO21
"""
NAMES = dict(enumerate(re.split(r"\s{2,}", HEADER.strip()), start=1))


@pytest.fixture(scope="module")
def drawing(hardware: Path) -> ET.Element:
    return ET.fromstring((hardware / "wiring.svg").read_text())  # noqa: S314 (our own file)


@pytest.fixture(scope="module")
def pins(readme, table_under) -> list[list[str]]:
    return table_under(readme, "pin", "name", "goes to")


def texts(drawing: ET.Element, group: str) -> list[tuple[float, float, str]]:
    found = drawing.find(f"{SVG}g[@id='{group}']")
    assert found is not None
    return [
        (float(t.get("x", "nan")), float(t.get("y", "nan")), t.text or "")
        for t in found.iter(f"{SVG}text")
    ]


def test_every_pin_of_the_table_has_its_published_name(pins):
    assert len(NAMES) == 40
    assert pins
    assert {int(pin): name for pin, name, _ in pins} == {int(p): NAMES[int(p)] for p, _, _ in pins}


def test_no_pin_is_used_twice(pins):
    assert len({pin for pin, _, _ in pins}) == len(pins)


def test_the_drawing_has_the_same_table_row_by_row(drawing, pins):
    rows: dict[float, list[tuple[float, str]]] = {}
    for x, y, text in texts(drawing, "table"):
        rows.setdefault(y, []).append((x, text))
    drawn = [[text for _, text in sorted(row)] for _, row in sorted(rows.items())]
    assert drawn[2:] == pins  # under the title and the head


def test_the_drawn_header_has_all_forty_pins_beside_their_published_names(drawing):
    found = texts(drawing, "pi")
    numbers = {(x, y): int(text) for x, y, text in found if text.isdigit()}
    names = [(x, y, text) for x, y, text in found if text in set(NAMES.values())]
    beside = {}
    for (px, py), pin in numbers.items():
        left = pin % 2 == 1
        near = [(abs(x - px), text) for x, y, text in names if abs(y - py) < 2 and (x < px) == left]
        beside[pin] = min(near)[1]
    assert beside == NAMES


def test_the_wires_of_the_drawing_end_on_the_pins_of_the_table(drawing, pins):
    labels = [
        text.removeprefix("pin ").split(" · ")
        for group in ("a", "b")
        for _, _, text in texts(drawing, group)
        if text.startswith("pin ") and " · " in text
    ]
    direct = [[pin, name] for pin, name, goes_to in pins if "three-wire" not in goes_to]
    assert labels == direct


def test_no_text_leaves_the_drawing_and_none_lies_on_another(drawing):
    width, height = 1600, 1440
    assert drawing.get("viewBox") == f"0 0 {width} {height}"
    places = [
        (float(t.get("x", "nan")), float(t.get("y", "nan"))) for t in drawing.iter(f"{SVG}text")
    ]
    assert all(0 < x < width and 10 < y < height for x, y in places)
    assert len(set(places)) == len(places)


def test_the_drawing_needs_nothing_from_outside(drawing, hardware):
    assert {e.tag.removeprefix(SVG) for e in drawing.iter()} <= {
        "svg", "title", "desc", "style", "g", "rect", "circle", "path", "text",
    }  # fmt: skip
    assert "http" not in (hardware / "wiring.svg").read_text().replace(SVG[1:-1], "")


@pytest.mark.parametrize(
    "page",
    ["hardware/README.md", "hardware/calibration/README.md", "firmware-notes/converter.md"],
)
def test_every_relative_link_leads_somewhere(page):
    path = Path(__file__).parents[2] / page
    links = re.findall(r"\]\(([^)#]+)\)", path.read_text())
    assert links
    assert [link for link in links if not (path.parent / link).exists()] == []
