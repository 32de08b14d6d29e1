"""Pictures of single runs: the true load against the ramp line, and how far off it was."""

from pathlib import Path

import _runs as runs

ROWS = (
    "number + stopwatch, strokes",
    "number + stopwatch, slow squeeze",
    "paced strokes",
    "paced squeeze",
    "bound: perfect strokes",
)
WIDTH, HEIGHT, LEFT, PANEL = 900, 520, 70, 250
MOST_S, TARGET_PSI, OFF_PSI, SEED = 250.0, 4000.0, 200.0, 3


def draw_worst(folder, name, outcomes):
    pass


def draw(folder: Path) -> None:
    """One SVG a row, all of the same press and person of the second set, at 10 readings/s."""
    folder.mkdir(parents=True, exist_ok=True)
    for row in ROWS:
        outcome = runs.run(row, TARGET_PSI, SEED, runs.SETS["second"], 10, traced=True)
        name = row.replace(": ", "-").replace(" + ", "-").replace(", ", "-").replace(" ", "-")
        (folder / f"{name}.svg").write_text(picture(row, outcome))


def picture(row: str, outcome: runs.Outcome) -> str:
    """Load over line above, deviation in psi with the band of 2 % of target below."""
    trace = [point for point in outcome.trace if point[0] <= MOST_S][::4]
    load = path((x(t), y(psi, 0, 1.1 * TARGET_PSI, 30)) for t, psi, _ in trace)
    line = path((x(t), y(line, 0, 1.1 * TARGET_PSI, 30)) for t, _, line in trace)
    off = path(
        (x(t), y(max(-OFF_PSI, min(OFF_PSI, psi - line)), -OFF_PSI, OFF_PSI, 270))
        for t, psi, line in trace
    )
    band = 0.02 * TARGET_PSI
    top, bottom = y(band, -OFF_PSI, OFF_PSI, 270), y(-band, -OFF_PSI, OFF_PSI, 270)
    title = (
        f"{row}: rms {outcome.rms_pct:.2f} % of target, peak {outcome.peak_pct:+.2f} %, "
        f"{100 * outcome.in_1:.0f} % of the hold within 1 %"
    )
    ticks = "".join(
        f'<text x="{x(t)}" y="{HEIGHT - 8}" text-anchor="middle">{t:.0f} s</text>'
        for t in (0, 60, 120, 180, 240)
    )
    return f"""<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}"
 font-family="sans-serif" font-size="13" fill="none">
<rect width="{WIDTH}" height="{HEIGHT}" fill="#fff"/>
<g fill="#222"><text x="{LEFT}" y="20" font-size="15">{title}</text>
<text x="8" y="{y(TARGET_PSI, 0, 1.1 * TARGET_PSI, 30)}">4000 psi</text>
<text x="8" y="{top + 4}">+80 psi</text><text x="8" y="{bottom + 4}">-80 psi</text>{ticks}</g>
<rect x="{LEFT}" y="{top}" width="{WIDTH - LEFT - 10}" height="{bottom - top}" fill="#eee"/>
<path d="{line}" stroke="#999" stroke-width="4"/>
<path d="{load}" stroke="#134a8e" stroke-width="1.5"/>
<path d="{off}" stroke="#134a8e" stroke-width="1.2"/>
</svg>
"""


def x(t_s: float) -> float:
    """Place of a time."""
    return round(LEFT + t_s / MOST_S * (WIDTH - LEFT - 10), 1)


def y(psi: float, low: float, high: float, top: float) -> float:
    """Place of a stress in a panel that begins at `top`."""
    return round(top + (high - psi) / (high - low) * (PANEL - 30), 1)


def path(points) -> str:
    """Points as an SVG path."""
    return "M" + " L".join(f"{a},{b}" for a, b in points)
