"""What answers each method, on the daemon's side."""

from collections.abc import Awaitable, Callable
from typing import Any, TypeVar

from msgspec import Struct

from ramphold.control.act import Method
from ramphold.errors import CommandRefused

P = TypeVar("P", bound=Struct)
R = TypeVar("R")


class Handlers:
    """The handler of each method; parameters and live run are checked before it runs.

    Args:
        live_run: gives the number of the live run, if there is one.
        ending: says of a run that is over and not written why it is not; empty without one.
    """

    def __init__(
        self,
        live_run: Callable[[], int | None] = lambda: None,
        ending: Callable[[], str] = lambda: "",
    ) -> None:
        self._live_run, self._ending = live_run, ending
        self._table: dict[str, tuple[Method[Any, Any], Callable[[Any], Awaitable[Any]]]] = {}

    def on(self, method: Method[P, R], handler: Callable[[P], Awaitable[R]]) -> None:
        """Let `handler` answer `method`."""
        self._table[method.name] = (method, handler)

    def __contains__(self, name: str) -> bool:
        return name in self._table

    async def answer(self, name: str, params: object) -> object:
        """The result of the method of that name, which has a handler, for parameters as they came.

        Raises:
            InputError: a parameter is not as expected.
            CommandRefused: the live run is not as the method needs.
        """
        method, _ = self._table[name]
        return await self.call(method, method.read_params(params))

    async def call(self, method: Method[P, R], params: P) -> R:
        """The result of a method.

        Raises:
            CommandRefused: it has no handler here, or the live run is not as it needs.
        """
        if method.name not in self._table:
            raise CommandRefused(f"{method.name} needs the daemon: start it first")
        method.check_run(self._live_run(), self._ending())
        _, handler = self._table[method.name]
        result: R = await handler(params)
        return result
