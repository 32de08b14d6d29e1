import pytest

from ramphold.method.force_class import CLASSES, ForceErrors, best_class

PERFECT = {
    "error_pct": 0.0,
    "repeatability_pct": 0.0,
    "resolution_pct": 0.0,
    "zero_pct": 0.0,
    "reversibility_pct": 0.0,
}

# from memory: ISO 7500-1:2018 Table 2
TABLE_2 = {
    "error_pct": (0.5, 1.0, 2.0, 3.0),
    "repeatability_pct": (0.5, 1.0, 2.0, 3.0),
    "reversibility_pct": (0.75, 1.5, 3.0, 4.5),
    "zero_pct": (0.05, 0.1, 0.2, 0.3),
    "resolution_pct": (0.25, 0.5, 1.0, 1.5),
}


@pytest.mark.parametrize("what", TABLE_2)
def test_each_error_alone_sets_the_class(what):
    for limit, name in zip(TABLE_2[what], ("0.5", "1", "2", "3"), strict=True):
        assert best_class(ForceErrors(**PERFECT | {what: limit})) == name
        assert best_class(ForceErrors(**PERFECT | {what: -limit})) == name
        assert best_class(ForceErrors(**PERFECT | {what: limit * 1.001})) != name


@pytest.mark.parametrize("what", TABLE_2)
def test_beyond_class_3_there_is_no_class(what):
    assert best_class(ForceErrors(**PERFECT | {what: TABLE_2[what][-1] * 1.001})) is None


def test_the_resolution_limits_are_the_lowest_forces_of_the_classes():
    # from memory: ISO 7500-1:2018: 400, 200, 100 and 67 times the resolution
    assert [round(100 / row.resolution_pct) for row in CLASSES] == [400, 200, 100, 67]


def test_reversibility_that_was_not_read_is_no_fault():
    assert best_class(ForceErrors(**PERFECT | {"reversibility_pct": None})) == "0.5"
