"""The laboratory's page: what was collected, seen in a web browser. A plugin for datasette.

datasette finds the hooks and `templates` here. It serves them; what a page shows is read through
the collector's own `Archive`, so that SQLite and PostgreSQL look the same. Nothing writes.

datasette loads its plugins while it is itself imported, so what is behind a hook is imported when
the hook is called.
"""

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING, Any, TypeVar, cast

from datasette import hookimpl

if TYPE_CHECKING:
    from datasette.app import Datasette
    from datasette.utils.asgi import Request

F = TypeVar("F", bound=Callable[..., Any])

_hook = cast("Callable[[F], F]", hookimpl)


@_hook
def startup(datasette: "Datasette") -> None:
    """Begin to listen to the benches."""
    _behind().startup(datasette)


@_hook
def register_routes(datasette: "Datasette") -> list[tuple[str, Callable[..., Any]]]:
    """The pages."""
    return cast("list[tuple[str, Callable[..., Any]]]", _behind().register_routes(datasette))


@_hook
def asgi_wrapper(datasette: "Datasette") -> Callable[..., Any]:
    """Refuse what is not to be served, and set the headers of what is."""
    return cast("Callable[..., Any]", _behind().asgi_wrapper(datasette))


@_hook
def actor_from_request(datasette: "Datasette", request: "Request") -> dict[str, str] | None:
    """Who looks, by the header of the proxy, if the configuration names one."""
    return cast("dict[str, str] | None", _behind().actor_from_request(datasette, request))


@_hook
def menu_links(datasette: "Datasette") -> list[dict[str, str]]:
    """The way from datasette's own pages to these."""
    return cast("list[dict[str, str]]", _behind().menu_links(datasette))


def _behind() -> Any:  # noqa: ANN401 - the module of the same functions
    return import_module("ramphold.browse._hooks")
