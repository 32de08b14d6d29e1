"""Who signs at a bench, from its records, and whether a signed record is by one of them."""

from collections.abc import Iterable
from dataclasses import dataclass

from ramphold.keys.person_signature import same_name
from ramphold.sample._person_records import PersonAdded, PersonRetired
from ramphold.sample._sample_records import BaseRecord, SignedRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class SigningPerson:
    """A person who signs at the bench, or has signed.

    Attributes:
        added: since when, and with which key.
        until: record that ended it; 0 while the person signs.
    """

    added: PersonAdded
    until: int = 0

    @property
    def vouched_by(self) -> str:
        """Initials of the person who vouched for the key; empty if nobody did."""
        signed = self.added.signed
        return "" if signed is None or signed.key == self.added.key else self.added.operator


class People:
    """The persons of a bench, put together from its records in the order they were written."""

    def __init__(self, records: Iterable[BaseRecord] = ()) -> None:
        self.all: list[SigningPerson] = []
        for record in records:
            self.take(record)

    @property
    def active(self) -> list[SigningPerson]:
        """Those who sign now."""
        return [one for one in self.all if not one.until]

    def find(self, initials: str) -> SigningPerson | None:
        """The one who signs with these initials now."""
        return next((one for one in self.active if same_name(one.added.initials, initials)), None)

    def former(self, initials: str) -> str:
        """The name of the last one who signed with these initials and signs no more, or nothing."""
        names = [one.added.name for one in self.all if same_name(one.added.initials, initials)]
        return names[-1] if names and self.find(initials) is None else ""

    def take(self, record: BaseRecord) -> None:
        """Take the next record; all but those about people are left out."""
        match record:
            case PersonAdded():
                # Whoever comes with a new key has left the old one.
                self._end(record.initials, record.record)
                self.all.append(SigningPerson(added=record))
            case PersonRetired():
                self._end(record.initials, record.record)

    def fault(self, record: SignedRecord) -> str:
        """Why a record is not signed as it should be, given those before it; empty if it is.

        Whether its signature is right is another question (`PersonSignature.covers`).
        """
        signed = record.signed
        if signed is None:
            if not self.all and not isinstance(record, PersonAdded):
                return ""
            since = self.all[0].added.record if self.all else record.record
            return f"is not signed, and people sign at this bench since record {since}"
        if isinstance(record, PersonAdded) and signed.key == record.key:
            whose = (record.initials, record.name, record.function)
        else:
            person = self.find(record.operator)
            if person is None or person.added.key != signed.key:
                return "is signed by a key that was nobody's at this bench"
            whose = (person.added.initials, person.added.name, person.added.function)
        if (record.operator, signed.name, signed.function) != whose:
            return f"is signed by {whose[1]} ({whose[0]}), in another name"
        return ""

    def is_the_same_person(self, initials: str, other: str) -> bool:
        """Whether two initials are those of one person: the letters, or a key or name of both."""
        if same_name(initials, other):
            return True
        one, two = self._marks(initials), self._marks(other)
        return not one.isdisjoint(two)

    def _marks(self, initials: str) -> set[str]:
        """Every key and name that went with initials."""
        found = [one.added for one in self.all if same_name(one.added.initials, initials)]
        return {mark for one in found for mark in (one.key, one.name.strip().casefold())}

    def _end(self, initials: str, record: int) -> None:
        self.all = [
            SigningPerson(added=one.added, until=record)
            if not one.until and same_name(one.added.initials, initials)
            else one
            for one in self.all
        ]
