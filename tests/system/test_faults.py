"""Real daemon, broker and collector: whatever fails, records are filed once, with equal hashes."""

import pytest

from support.faults import FAULTS
from support.laboratory import Laboratory

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def running(tmp_path_factory):
    made = Laboratory(tmp_path_factory.mktemp("laboratory"))
    yield made
    made.close()


@pytest.fixture
def laboratory(running):
    """The shared laboratory, without benches and with all parts working."""
    yield running
    running.mend()


@pytest.mark.parametrize("fault", FAULTS, ids=lambda one: one.__name__)
def test_all_is_filed_once_with_equal_hashes_after(fault, laboratory):
    benches, _ = fault(laboratory)
    laboratory.delivered(*benches)
