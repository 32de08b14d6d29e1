"""A round robin as lines of text."""

from collections.abc import Iterator

from ramphold.method.study import Study


def study_lines(found: Study) -> Iterator[str]:
    """Each laboratory with h and k, then what all show together; `!` marks what is over a limit."""
    width = max(10, *(len(one.name) for one in found.cells))
    yield f"{'laboratory':<{width}}{'n':>4}{'mean':>10}{'sd':>9}{'h':>8}{'k':>8}"
    for one in found.cells:
        far, uneven = abs(one.h) > found.h_limit, one.k > one.k_limit
        yield (
            f"{one.name:<{width}}{one.n:>4}{one.mean:>10.4f}{one.sd:>9.4f}"
            f"{one.h:>7.2f}{'!' if far else ' '}{one.k:>7.2f}{'!' if uneven else ''}"
        )
    limits = {one.n: one.k_limit for one in found.cells}
    by_n = ", ".join(
        f"k {limit:.2f}" + (f" for n = {n}" if len(limits) > 1 else "")
        for n, limit in sorted(limits.items())
    )
    yield f"critical at 0.5 %: h {found.h_limit:.2f}, {by_n}"
    yield (
        f"mean {found.mean:.4f}   s_r {found.repeatability:.4f}   "
        f"s_R {found.reproducibility:.4f}   r {found.repeatability_limit:.2f}   "
        f"R {found.reproducibility_limit:.2f}"
    )
    wide = found.cochran > found.cochran_limit
    yield (
        f"Cochran C {found.cochran:.3f} of {found.cochran_of}, critical at 1 % "
        f"{found.cochran_limit:.3f}: {'an outlier' if wide else 'none'}"
    )
    test, farthest = found.grubbs, found.cells[found.grubbs.index]
    yield (
        f"Grubbs G {test.g:.3f} of {farthest.name}, critical at 1 % {test.critical:.3f}: "
        + ("an outlier" if test.outlier else "none")
    )
