"""People who sign at the bench: who they are, and whose PIN is right.

A person's key lies sealed in the key folder, for this service alone. A PIN is tried in a thread of
its own, one after the other, so that the press never waits for it.
"""

import asyncio

from ramphold.clock import Clock, utc_text
from ramphold.control.act import NoParams
from ramphold.control.handlers import Handlers
from ramphold.control.people_methods import (
    ADD_PERSON,
    CHANGE_PIN,
    PEOPLE,
    RETIRE_PERSON,
    AddPersonParams,
    ChangePinParams,
    PeopleList,
    PersonLine,
    PinChanged,
    RetirePersonParams,
    cannot_sign,
)
from ramphold.daemon._ledger import keep
from ramphold.daemon._store_thread import StoreThread
from ramphold.errors import CommandRefused, InputError, KeyFileError
from ramphold.keys.key_folder import KeyFolder
from ramphold.keys.person_key import OpenedKey, PersonKeys, Signer
from ramphold.sample import People, PersonAdded, PersonRetired, SigningPerson


class PeopleService:
    """Opens a person's key for one signature, and keeps the list of people.

    Args:
        store: where the records are; the keys lie beside it.
        clock: dates the records and the tries.
    """

    def __init__(self, store: StoreThread, clock: Clock) -> None:
        self._store, self._clock = store, clock
        self._keys = PersonKeys(KeyFolder.beside(store.path).path)
        self._one_at_a_time = asyncio.Lock()

    def answer(self, handlers: Handlers) -> None:
        """Answer the methods about people."""
        handlers.on(PEOPLE, self._list)
        handlers.on(ADD_PERSON, self._add)
        handlers.on(RETIRE_PERSON, self._retire)
        handlers.on(CHANGE_PIN, self._change_pin)

    async def opened(self, operator: str, pin: str | None) -> OpenedKey | None:
        """The key of a person; None where nobody signs at this bench, so that initials must do.

        Raises:
            CommandRefused: the person has no key or is retired, or the PIN is wrong or missing, or
                comes too soon after wrong ones.
            KeyFileError: the file of the key must not be used.
        """
        async with self._one_at_a_time:
            return await self._opened(await self._people(), operator, pin)

    # --- inside ----------------------------------------------------------------------------------

    async def _people(self) -> People:
        return await self._store.run(lambda store: store.records.people())

    async def _opened(self, people: People, operator: str, pin: str | None) -> OpenedKey | None:
        if not people.all:
            if pin is None:
                return None
            raise CommandRefused("nobody signs at this bench yet: `ramphold person add` first")
        if (person := people.find(operator)) is None:
            raise CommandRefused(cannot_sign(operator, people.former(operator)))
        added, now_ns = person.added, self._clock.utc_ns()
        if pin is None:
            raise CommandRefused(f"{added.name} ({added.initials}) signs this: expected the PIN")
        if now_ns < added.utc_ns:
            raise CommandRefused(
                f"the clock says {utc_text(now_ns)}, before the key of {added.name}: set it"
            )
        opened = await asyncio.to_thread(self._keys.open, operator, pin, now_ns)
        _check_the_same(opened.person, added)
        return opened

    async def _list(self, _: NoParams) -> PeopleList:
        people = await self._people()
        here = await asyncio.to_thread(self._here, people)
        return PeopleList(
            people=tuple(
                PersonLine(
                    initials=one.added.initials,
                    name=one.added.name,
                    function=one.added.function,
                    key=one.added.key,
                    since_utc_ns=one.added.utc_ns,
                    vouched_by=one.vouched_by,
                    signs=not one.until,
                    here=one in here,
                )
                for one in people.all
            ),
            voucher_needed=bool(here),
        )

    async def _add(self, params: AddPersonParams) -> PersonAdded:
        async with self._one_at_a_time:
            people, voucher = await self._people(), None
            here = await asyncio.to_thread(self._here, people)
            if here:
                voucher = await self._opened(people, params.operator, params.pin)
            elif params.operator.casefold() != params.initials.casefold():
                raise CommandRefused(
                    f"{params.operator} can't vouch for {params.initials}: nobody's key lies here; "
                    "leave it out"
                )
            new = await asyncio.to_thread(self._new_key, params, here)
            signer = voucher or new
            one, utc_ns = new.person, self._clock.utc_ns()
            return await self._store.run(
                lambda store: keep(
                    store, ADD_PERSON, params, utc_ns, signer=signer,
                    operator=signer.person.initials, initials=one.initials,
                    name=one.name, function=one.function, key=one.key,
                )
            )  # fmt: skip

    async def _retire(self, params: RetirePersonParams) -> PersonRetired:
        async with self._one_at_a_time:
            people = await self._people()
            if (person := people.find(params.initials)) is None:
                raise CommandRefused(f"{params.initials} does not sign at this bench")
            signer = await self._opened(people, params.operator, params.pin)
            utc_ns = self._clock.utc_ns()
            done = await self._store.run(
                lambda store: keep(
                    store, RETIRE_PERSON, params, utc_ns, signer=signer,
                    initials=person.added.initials, key=person.added.key,
                )
            )  # fmt: skip
            if person in await asyncio.to_thread(self._here, people):
                await asyncio.to_thread(self._keys.retire, params.initials, utc_ns)
            return done

    async def _change_pin(self, params: ChangePinParams) -> PinChanged:
        async with self._one_at_a_time:
            utc_ns = self._clock.utc_ns()
            person = await asyncio.to_thread(
                self._keys.change_pin, params.initials, params.pin, params.new_pin, utc_ns
            )
            return PinChanged(initials=person.initials, name=person.name)

    # --- inside, in another thread ---------------------------------------------------------------

    def _here(self, people: People) -> list[SigningPerson]:
        """Those who sign, and whose key a PIN can open here."""
        found = []
        for one in people.active:
            try:
                held = self._keys.find(one.added.initials)
            except CommandRefused:
                continue
            except KeyFileError:
                found.append(one)  # it lies here, and must be mended or moved away
                continue
            if held.key == one.added.key and held.retired_utc_ns is None:
                found.append(one)
        return found

    def _new_key(self, params: AddPersonParams, here: list[SigningPerson]) -> OpenedKey:
        """A key that lies here already, copied from another bench, or a new one."""
        now_ns, wanted = self._clock.utc_ns(), (params.name.strip(), params.function.strip())
        try:
            held = self._keys.find(params.initials)
        except CommandRefused:
            held = None
        if held is not None and held.retired_utc_ns is not None:
            held = None
        _check_free(here, params.initials, held.name if held else wanted[0])
        if held is None:
            return self._keys.add(params.initials, *wanted, params.new_pin, now_ns)
        if any(wanted) and wanted != (held.name, held.function):
            raise InputError(
                f"the key of {held.initials} that lies here is that of {held.name}, "
                f"{held.function}: expected the same, or neither --name nor --function"
            )
        return self._keys.open(params.initials, params.new_pin, now_ns)


def _check_free(here: list[SigningPerson], initials: str, name: str) -> None:
    """Check that nobody else has the initials, and that the person has no others."""
    for one in here:
        same = one.added.initials.casefold() == initials.casefold()
        if same or one.added.name.casefold() == name.casefold():
            raise CommandRefused(
                f"{one.added.name} signs here already, as {one.added.initials}: "
                f"`ramphold person retire {one.added.initials}` first"
            )


def _check_the_same(held: Signer, added: PersonAdded) -> None:
    if (held.key, held.name, held.function) != (added.key, added.name, added.function):
        raise KeyFileError(
            f"the key of {added.initials} that lies here is not the one that {added.name} signs "
            "with: put it back from its backup"
        )
