"""Shakers by the daemon's clock: several at once, after a restart too, until taken off."""

import pytest

from ramphold.control.act import NoParams
from ramphold.control.shaker_methods import EndShakingParams, StartShakingParams
from ramphold.daemon import _shaker
from ramphold.errors import CommandRefused
from ramphold.store import Store
from support.specimens import add_specimen

S = 10**9


def on(store, at_s, **whose):
    return _shaker.start_shaking(store, StartShakingParams(operator="KL", **whose), at_s * S)


def to_go(store, at_s):
    now = _shaker.shakings(store, NoParams(), at_s * S).shakings
    return [(one.label, one.to_go_s) for one in now]


def with_specimens(path, *labels):
    store = Store.open(path)
    for label in labels:
        add_specimen(store, label=label, utc_ns=5)
    return store


def test_each_counts_down_from_its_record_whatever_restarted_since(tmp_path):
    with with_specimens(tmp_path / "a.sqlite", "a", "b") as store:
        on(store, 100, specimen=1)
        on(store, 160, specimen=2, planned_s=300)
        assert to_go(store, 220) == [("b", 240.0), ("a", 480.0)]
    with Store.open(tmp_path / "a.sqlite") as store:
        assert to_go(store, 720) == [("b", -260.0), ("a", -20.0)]


def test_what_was_taken_off_is_not_shown_and_can_not_be_taken_off_again(tmp_path):
    with with_specimens(tmp_path / "a.sqlite", "a") as store:
        started = on(store, 100, specimen=1)
        off = EndShakingParams(shaking=started.record, operator="MM")
        kept = _shaker.end_shaking(store, off, 710 * S)
        assert (kept.specimen, kept.shaking, kept.operator) == (1, started.record, "MM")
        assert to_go(store, 711) == []
        with pytest.raises(CommandRefused, match="nothing that record 2 put there is on the"):
            _shaker.end_shaking(store, off, 712 * S)


def test_a_bench_without_records_has_nothing_on_the_shaker(tmp_path):
    with Store.open(tmp_path / "a.sqlite") as store:
        assert to_go(store, 1) == []
