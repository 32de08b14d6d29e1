"""Makes the seals of records: each with the proof that signed heads cover it."""

from collections.abc import Iterator
from functools import cache

from ramphold.errors import StoreError
from ramphold.keys.merkle import FullTree
from ramphold.keys.record_seal import AnsweredRecord, CoveringHead, RecordSeal, covering
from ramphold.keys.signed_head import SignedHead
from ramphold.store._record_store import ABOUT_PEOPLE, newest_link
from ramphold.store._store import Store

_NAMES_DIGEST = """SELECT min(id) FROM records WHERE
    (kind = 'report' AND ? IN (body ->> '$.sha256', body ->> '$.pdf_sha256'))
    OR (kind = 'run' AND body ->> '$.trace_sha256' = ?)"""

_ANSWERED = f"""SELECT id, sample, body FROM records WHERE id < ?
    AND ((sample IS ? AND kind IN ('decision', 'review')) OR {ABOUT_PEOPLE})
    ORDER BY id"""  # noqa: S608 - ours

_ENDS_RUN = "SELECT min(id) FROM records WHERE kind = 'run' AND body ->> '$.run' = ?"


class RecordSeals:
    """Seals by the newest head and receipt of a database, each tree built once.

    Args:
        store: the database, in a snapshot.

    Raises:
        StoreError: the database can't be read.
    """

    def __init__(self, store: Store) -> None:
        self._connection = store.connection()
        self._links = list(store.links().values())
        self._head, self._receipt = store.heads.newest(), store.heads.newest("receipt")
        self._tree = cache(lambda count: FullTree.of(self._links[:count]))

    def record_of(self, digest: str) -> int | None:
        """The record that names a file by its SHA-256: an issued report, or the trace of a run.

        Raises:
            StoreError: the database can't be read.
        """
        ((record,),) = self._connection.rows(_NAMES_DIGEST, (digest, digest))
        return None if record is None else int(record)

    def record_of_run(self, run: int) -> int | None:
        """The record of a run's end; None while it is live.

        Raises:
            StoreError: the database can't be read.
        """
        ((record,),) = self._connection.rows(_ENDS_RUN, (run,))
        return None if record is None else int(record)

    def of(self, record: int) -> RecordSeal | None:
        """The seal of a record; None until a head covers it.

        Raises:
            StoreError: the database can't be read, or its records are not those that were signed.
        """
        if (head := self._covering(self._head, record)) is None:
            return None
        rows = self._connection.rows(
            "SELECT body, sample, kind FROM records WHERE id = ?", (record,)
        )
        ((body, sample, kind),) = rows
        answered = self._answered(head.head, record, sample) if kind == "report" else ()
        return RecordSeal(
            record=record,
            previous=self._before(sample, record),
            body=body,
            head=head,
            receipt=self._covering(self._receipt, record),
            people=tuple(answered),
        )

    def _answered(self, head: SignedHead, record: int, sample: int) -> Iterator[AnsweredRecord]:
        """Who signs at the bench, and what people answered for of a sample, before a record."""
        tree = self._tree(head.count)
        for number, whose, body in self._connection.rows(_ANSWERED, (record, sample)):
            yield AnsweredRecord(
                record=number,
                previous=self._before(whose, number),
                body=body,
                path=covering(head, tree, number).path,
            )

    def _before(self, sample: int | None, record: int) -> str:
        return newest_link(self._connection, "sample IS ? AND id < ?", sample, record)

    def _covering(self, head: SignedHead | None, record: int) -> CoveringHead | None:
        if head is None or head.count < record:
            return None
        tree = self._tree(head.count)
        if tree.root().hex() != head.root:
            raise StoreError(
                f"the records are not those of the {head.word} over {head.count}: see "
                "`ramphold check --records`"
            )
        return covering(head, tree, record)
