"""A figure as lines, areas, dots and words at given positions, and the look of each ink."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

Point: TypeAlias = tuple[float, float]


class Ink(StrEnum):
    """The meaning of a stroke."""

    FRAME = "frame"
    GRID = "grid"
    TRACE = "trace"
    PLAN = "plan"
    BAND = "band"
    LIMIT = "limit"
    CURVE = "curve"
    COUNTS = "counts"
    LEFT_OUT = "left-out"
    MEAN = "mean"


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """Colours as RRGGBB hex, width and dashes in points."""

    stroke: str = ""
    width: float = 0.75
    dash: tuple[float, ...] = ()
    fill: str = ""


#: The look of every ink. They differ in line and shape too, so that a grey print is readable.
LOOKS: Mapping[Ink, Look] = {
    Ink.FRAME: Look(stroke="#42525a", width=0.7),
    Ink.GRID: Look(stroke="#e3e1da", width=0.5),
    Ink.TRACE: Look(stroke="#174a5c", width=0.8),
    Ink.PLAN: Look(stroke="#b9812c", width=1.0, dash=(5, 2.5)),
    Ink.BAND: Look(fill="#e9efe6"),
    Ink.LIMIT: Look(stroke="#9d2f24", width=0.9, dash=(2, 2)),
    Ink.CURVE: Look(stroke="#174a5c", width=1.3),
    Ink.COUNTS: Look(stroke="#174a5c", width=0.8, fill="#174a5c"),
    Ink.LEFT_OUT: Look(stroke="#7a868c", width=0.9, fill="#ffffff"),
    Ink.MEAN: Look(stroke="#b9812c", width=1.2),
}


class Anchor(StrEnum):
    """Which point of the words is at their position."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True, slots=True)
class Polyline:
    """Straight strokes from point to point."""

    ink: Ink
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Polygon:
    """A filled outline."""

    ink: Ink
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Dot:
    """A round mark."""

    ink: Ink
    x: float
    y: float
    radius: float = 2.4


@dataclass(frozen=True, slots=True)
class Words:
    """Words with their baseline at y; `upright` turns them 90 degrees to the left."""

    x: float
    y: float
    text: str
    anchor: Anchor = Anchor.START
    colour: str = "#42525a"
    upright: bool = False


Shape: TypeAlias = Polyline | Polygon | Dot | Words


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A figure in points, y downwards, its shapes from back to front."""

    width: float
    height: float
    shapes: tuple[Shape, ...]
