"""Warnings of a press that no run follows, put together from their records."""

from ramphold.sample import PressWarned, bench_record


def warned(utc_ns, happened="raised", operator="-", warning="over rating", load_lbf=41_000.0):
    return PressWarned(
        operator=operator,
        utc_ns=utc_ns,
        warning=warning,
        happened=happened,
        name="cell",
        load_lbf=load_lbf,
        limit_lbf=40_000.0,
    )


def no_uses(*_):
    return 0


def test_a_warning_is_one_with_its_greatest_load_and_who_saw_it():
    book = bench_record(
        [
            warned(1, warning="near rating"),
            warned(2),
            warned(3, "acknowledged", "AB", load_lbf=44_000.0),
            warned(4, "cleared", "AB", load_lbf=44_000.0),
            warned(5),
        ],
        no_uses,
    )
    said = [(one.utc_ns, one.warning, one.load_lbf, one.seen_by) for one in book.warnings]
    assert said == [
        (1, "near rating", 41_000.0, ""),
        (2, "over rating", 44_000.0, "AB"),
        (5, "over rating", 41_000.0, ""),
    ]
    # 44 000 is a tenth over 40 000.
    assert [one.over_pct for one in book.warnings] == [2.5, 10.0, 2.5]


def test_one_that_stood_when_the_daemon_was_started_anew_is_another():
    book = bench_record([warned(1), warned(2), warned(3, "acknowledged", "AB")], no_uses)
    assert [(one.utc_ns, one.seen_by) for one in book.warnings] == [(1, ""), (2, "AB")]


def test_what_begins_in_the_midst_of_a_warning_and_lacks_its_load_is_told_all_the_same():
    (one,) = bench_record([warned(3, "acknowledged", "AB", load_lbf=None)], no_uses).warnings
    assert (one.utc_ns, one.load_lbf, one.over_pct) == (3, None, None)
