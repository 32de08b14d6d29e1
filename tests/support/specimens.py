"""A specimen in a database; a test names only the fields that matter to it."""

from ramphold.sample import SpecimenAdded

PLAIN = {"label": "a", "target_psi": 4000.0, "bore_in": 2.0, "operator": "KL", "utc_ns": 1}


def add_specimen(store, **given):
    """Store a specimen; its record."""
    return store.specimens.add(SpecimenAdded(**PLAIN | given))
