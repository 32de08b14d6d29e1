"""A file that is not what was written is found so, whatever bytes of it were overwritten."""

import random
import shutil

import pytest

from ramphold.core import RunPlan
from ramphold.errors import StoreDamaged
from ramphold.store import Store
from ramphold.store.file_damage import quick_look, read_back, whole_look
from support.specimens import add_specimen
from support.tampering import tamper

PAGE = 4096
PLAN = RunPlan(target_psi=4000)


@pytest.fixture
def written(path, short):
    """A database of a few records and two ended runs, one of them packed; closed."""
    with Store.open(path) as store:
        for number in range(2):
            add_specimen(store, label=f"a-{number}")
            run = store.runs.begin(specimen=number + 1, operator="KL", plan=PLAN, t_ns=0, utc_ns=0)
            short.write(store, run)
        store.runs.pack(1)
    return path


def looked(path):
    for look in (quick_look, whole_look):
        for _ in look(path):
            pass


def overwrite(path, at, new):
    with path.open("r+b") as file:
        file.seek(at)
        file.write(new)


def test_a_file_as_it_was_written_is_found_in_order(written):
    looked(written)


def test_a_record_that_was_changed_in_good_order_is_found_by_its_link(written):
    tamper(written, "UPDATE records SET body = replace(body, 'a-0', 'a-9') WHERE id = 1")
    with pytest.raises(StoreDamaged, match=r"is damaged \(record 1 was changed\): set it aside"):
        looked(written)


def test_between_two_steps_of_a_look_the_daemon_may_write_its_log_out(written):
    with Store.open(written) as store:
        for look in (quick_look, whole_look):
            for _ in look(written):
                assert store.write_out()


def test_any_page_overwritten_with_rubbish_is_found_so_or_holds_nothing(written, tmp_path):
    pages, unused = written.stat().st_size // PAGE, 0
    for page in range(1, pages):
        spoiled = tmp_path / "spoiled"
        shutil.copy(written, spoiled)
        overwrite(spoiled, page * PAGE, random.Random(page).randbytes(PAGE))
        try:
            looked(spoiled)
        except StoreDamaged:
            continue
        unused += 1
    # Pages of SQLite's own lists of free and moved pages, and the head of the outbox.
    assert unused <= pages // 10


@pytest.mark.parametrize("words", [b'"label":"a-0"', b'"reason":', b'"rate_psi_min":'])
def test_a_byte_changed_within_a_row_is_found(written, words):
    data = written.read_bytes()
    overwrite(written, data.rindex(words) + 3, b"#")
    with pytest.raises(StoreDamaged, match="is damaged"):
        looked(written)


def test_a_run_that_can_not_be_read_back_is_damage(written):
    assert len(read_back(written, 2)[0]) == 14
    overwrite(written, written.read_bytes().rindex(b'"type":"StateChanged"') + 3, b"\xff")
    with pytest.raises(StoreDamaged, match="can't be read"):
        read_back(written, 2)


def test_a_write_by_another_program_is_noticed_at_the_next_commit(path):
    with Store.open(path) as store:
        add_specimen(store)
        store.write_out()
        add_specimen(store)
        assert not store.touched
        overwrite(path, path.stat().st_size - 8, bytes(8))
        add_specimen(store)
        assert store.touched
