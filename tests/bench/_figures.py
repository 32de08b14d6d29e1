"""Pictures of the worst run of each case: the true load, and how far off the line it was."""

import re
from pathlib import Path

import _hands as hands
import _runs as runs

WIDTH, HEIGHT, LEFT, PANEL = 900, 520, 70, 250


def draw_worst(
    folder: Path, name: str, outcomes: dict[tuple[str, str, int, str], runs.Outcome]
) -> None:
    """One SVG for each case and help: the run that failed, or else went furthest over."""
    folder.mkdir(parents=True, exist_ok=True)
    for row, case in dict.fromkeys((row, case) for row, case, _, _ in outcomes):
        some = {
            seed: one
            for (of_row, of_case, seed, _), one in outcomes.items()
            if (of_row, of_case) == (row, case)
        }
        seed = max(some, key=lambda one: (not some[one].passed, some[one].peak_pct))
        outcome = runs.run(row, hands.CASES[case], seed, hands.SETS[name], traced=True)
        title = f"{name} press, {case}, {row}, seed {seed}"
        file = re.sub(r"\W+", "-", title)
        (folder / f"{file}.svg").write_text(picture(title, outcome, hands.CASES[case].target_psi))


def picture(title: str, outcome: runs.Outcome, target_psi: float) -> str:
    """Load over line above, deviation with the band of 2 % of target below."""
    trace, most_off = outcome.trace[::4], 0.05 * target_psi
    most_s = max((t for t, _, _ in trace), default=1.0)

    def x(t_s: float) -> float:
        return round(LEFT + t_s / most_s * (WIDTH - LEFT - 10), 1)

    def y(psi: float, low: float, high: float, top: float) -> float:
        return round(top + (high - psi) / (high - low) * (PANEL - 30), 1)

    def off(psi: float) -> float:
        return y(max(-most_off, min(most_off, psi)), -most_off, most_off, 270)

    load = path((x(t), y(psi, 0, 1.1 * target_psi, 30)) for t, psi, _ in trace)
    line = path((x(t), y(line, 0, 1.1 * target_psi, 30)) for t, _, line in trace)
    gap = path((x(t), off(psi - line)) for t, psi, line in trace)
    band = 0.02 * target_psi
    figures = (
        f"{title}: rms {outcome.rms_pct:.2f} %, peak {outcome.peak_pct:+.2f} %, "
        f"{100 * outcome.in_1:.0f} % of the hold within 1 %"
    )
    ticks = "".join(
        f'<text x="{x(t)}" y="{HEIGHT - 8}" text-anchor="middle">{t:.0f} s</text>'
        for t in range(0, int(most_s), 60)
    )
    return f"""<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}"
 font-family="sans-serif" font-size="13" fill="none">
<rect width="{WIDTH}" height="{HEIGHT}" fill="#fff"/>
<g fill="#222"><text x="{LEFT}" y="20" font-size="13">{figures}</text>
<text x="8" y="{y(target_psi, 0, 1.1 * target_psi, 30)}">{target_psi:.0f}</text>
<text x="8" y="{off(band) + 4}">+2 %</text><text x="8" y="{off(-band) + 4}">-2 %</text>{ticks}</g>
<rect x="{LEFT}" y="{off(band)}" width="{WIDTH - LEFT - 10}" height="{off(-band) - off(band)}"
 fill="#eee"/>
<path d="{line}" stroke="#999" stroke-width="4"/>
<path d="{load}" stroke="#134a8e" stroke-width="1.5"/>
<path d="{gap}" stroke="#134a8e" stroke-width="1.2"/>
</svg>
"""


def path(points) -> str:
    """Points as an SVG path."""
    return "M" + " L".join(f"{a},{b}" for a, b in points)
