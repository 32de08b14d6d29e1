"""A drawing as SVG, within the HTML report."""

from collections.abc import Iterable
from html import escape

from ramphold.report._drawing import LOOKS, Dot, Drawing, Point, Polygon, Polyline, Shape, Words


def _rules() -> Iterable[str]:
    for ink, look in LOOKS.items():
        rules = [f"fill:{look.fill or 'none'}"]
        if look.stroke:
            rules += [f"stroke:{look.stroke}", f"stroke-width:{look.width}"]
        if look.dash:
            rules.append(f"stroke-dasharray:{' '.join(map(str, look.dash))}")
        yield f".i-{ink}{{{';'.join(rules)}}}"


#: Style rules of every ink; words have an outline that separates them from what is behind.
STYLE = "\n".join((
    *_rules(),
    "svg text{paint-order:stroke;stroke:#fff;stroke-width:1.8;stroke-linejoin:round}",
))  # fmt: skip


def svg(drawing: Drawing, name: str) -> str:
    """The drawing as one element with a name."""
    shapes = "\n".join(map(_element, drawing.shapes))
    return (
        f'<svg viewBox="0 0 {drawing.width:g} {drawing.height:g}" role="img" '
        f'aria-label="{escape(name)}">\n{shapes}\n</svg>'
    )


def _element(shape: Shape) -> str:
    match shape:
        case Polyline():
            return f'<polyline class="i-{shape.ink}" points="{_points(shape.points)}"/>'
        case Polygon():
            return f'<polygon class="i-{shape.ink}" points="{_points(shape.points)}"/>'
        case Dot():
            at = f'cx="{shape.x:.1f}" cy="{shape.y:.1f}" r="{shape.radius:g}"'
            return f'<circle class="i-{shape.ink}" {at}/>'
        case Words():
            turn = f' transform="rotate(-90 {shape.x:.1f} {shape.y:.1f})"' if shape.upright else ""
            at = f'x="{shape.x:.1f}" y="{shape.y:.1f}" text-anchor="{shape.anchor}"'
            return f'<text {at}{turn} fill="{shape.colour}">{escape(shape.text)}</text>'


def _points(points: Iterable[Point]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
