"""Published data that several tests of the trade lean on."""

import pytest

# published: NIST StRD Pontius.dat, load cell calibration; load in lb, deflection
_PONTIUS_RUN_1 = (
    ".11019 .21956 .32949 .43899 .54803 .65694 .76562 .87487 .98292 1.09146 "
    "1.20001 1.30822 1.41599 1.52399 1.63194 1.73947 1.84646 1.95392 2.06128 2.16844"
)
_PONTIUS_RUN_2 = (
    ".11052 .22018 .32939 .43886 .54798 .65739 .76596 .87474 .98300 1.09150 "
    "1.20004 1.30818 1.41613 1.52408 1.63159 1.73965 1.84696 1.95445 2.06177 2.16829"
)

# published: NIST StRD Norris.dat, as (y, x)
_NORRIS = (
    (0.1, 0.2), (338.8, 337.4), (118.1, 118.2), (888.0, 884.6), (9.2, 10.1), (228.1, 226.5),
    (668.5, 666.3), (998.5, 996.3), (449.1, 448.6), (778.9, 777.0), (559.2, 558.2), (0.3, 0.4),
    (0.1, 0.6), (778.1, 775.5), (668.8, 666.9), (339.3, 338.0), (448.9, 447.5), (10.8, 11.6),
    (557.7, 556.0), (228.3, 228.1), (998.0, 995.8), (888.8, 887.6), (119.6, 120.2), (0.3, 0.3),
    (0.6, 0.3), (557.6, 556.8), (339.3, 339.1), (888.0, 887.2), (998.5, 999.0), (778.9, 779.0),
    (10.2, 11.1), (117.6, 118.3), (228.9, 229.2), (668.4, 669.1), (449.2, 448.9), (0.2, 0.5),
)  # fmt: skip


@pytest.fixture(scope="session")
def pontius_runs():
    """Two runs of (load, deflection)."""
    return tuple(
        tuple((150_000.0 * step, float(text)) for step, text in enumerate(run.split(), 1))
        for run in (_PONTIUS_RUN_1, _PONTIUS_RUN_2)
    )


@pytest.fixture(scope="session")
def pontius(pontius_runs):
    """Loads and deflections of both runs."""
    points = [point for run in pontius_runs for point in run]
    return [load for load, _ in points], [deflection for _, deflection in points]


@pytest.fixture(scope="session")
def norris():
    """Each x and its y."""
    return [x for _, x in _NORRIS], [y for y, _ in _NORRIS]
