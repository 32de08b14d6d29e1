"""SQLite: what the bench keeps. One process owns the file, and one thread of it the store."""

from ramphold.store._audit import Audit
from ramphold.store._store import Store

__all__ = ["Audit", "Store"]
