"""What is behind the hooks of the plugin; datasette documents each of them."""

from collections.abc import Awaitable, Callable
from typing import Any
from weakref import WeakKeyDictionary

from datasette.app import Datasette
from datasette.utils.asgi import NotFound, Request, Response

from ramphold.browse import benches, over_time, run, sample, samples, verify, work
from ramphold.browse._guard import App, Guard
from ramphold.browse._plugin_config import config_of, stands_alone
from ramphold.browse._trouble import trouble_page
from ramphold.browse.site import PREFIX, Site
from ramphold.clock import SystemClock
from ramphold.plain_text import visible

View = Callable[[Site, Request], Awaitable[Response]]

_PAGES = (benches, samples, sample, verify, run, over_time, work)
_sites: WeakKeyDictionary[Datasette, Site | None] = WeakKeyDictionary()


def site_of(datasette: Datasette) -> Site | None:
    """The pages that a datasette serves; None if it has no archive.

    Raises:
        ConfigError: the configuration is wrong, or contradicts itself.
    """
    if datasette not in _sites:
        config = config_of(datasette)
        _sites[datasette] = None if config is None else Site(datasette, config, SystemClock())
    return _sites[datasette]


def startup(datasette: Datasette) -> None:
    """Begin to listen to the benches."""
    if site := site_of(datasette):
        site.start()


def register_routes(datasette: Datasette) -> list[tuple[str, Callable[..., Any]]]:
    """The pages, each below `PREFIX`."""
    site = site_of(datasette)
    if site is None:
        return []
    found = [(path, view) for page in _PAGES for path, view in page.ROUTES]
    routes = [
        (rf"^{PREFIX}{path}$", _viewed(site, view))
        for path, view in (*found, (r"/static/(?P<name>[\w.-]+)", _static), ("/.*", _nothing))
    ]
    return [*routes, ("^/$", _viewed(site, _root))] if stands_alone(datasette) else routes


def asgi_wrapper(datasette: Datasette) -> Callable[[App], App]:
    """Refuse what is not to be served, and set the headers of what is."""
    site = site_of(datasette)
    if site is None:
        return lambda app: app
    return lambda app: Guard(app, site, alone=stands_alone(datasette))


def actor_from_request(datasette: Datasette, request: Request) -> dict[str, str] | None:
    """Who looks, by the header of the proxy, if the configuration names one."""
    site = site_of(datasette)
    header = site.config.user_header if site else ""
    name = request.headers.get(header.lower(), "") if header else ""
    return {"id": visible(name)} if name else None


def menu_links(datasette: Datasette) -> list[dict[str, str]]:
    """The way from datasette's own pages to these."""
    if site_of(datasette) is None:
        return []
    return [{"href": datasette.urls.path(PREFIX), "label": "The laboratory"}]


def _viewed(site: Site, view: View) -> Callable[[Request], Awaitable[Response]]:
    async def viewed(request: Request) -> Response:
        try:
            return await view(site, request)
        except Exception as error:  # noqa: BLE001 - datasette would print every local variable
            return await trouble_page(site, request, error)

    return viewed


async def _static(site: Site, request: Request) -> Response:
    return site.static.response(request.url_vars["name"])


async def _nothing(site: Site, request: Request) -> Response:
    del site, request
    raise NotFound("there is no such page")


async def _root(site: Site, request: Request) -> Response:
    del site, request
    return Response.redirect(PREFIX)
