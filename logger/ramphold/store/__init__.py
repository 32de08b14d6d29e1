"""The bench's SQLite database. One process owns the file, and one of its threads the store."""

from ramphold.store._audit import Audit
from ramphold.store._hand_store import TaughtRow
from ramphold.store._head_audit import HeadAudit
from ramphold.store._store import Store

__all__ = ["Audit", "HeadAudit", "Store", "TaughtRow"]
