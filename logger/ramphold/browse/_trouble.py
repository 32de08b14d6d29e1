"""The page that says why another can't be shown."""

import logging
from http import HTTPStatus

from datasette.utils.asgi import Base400, Request, Response

from ramphold.browse.site import Site
from ramphold.errors import InputError, RampholdError

_log = logging.getLogger("ramphold.browse")


async def trouble_page(site: Site, request: Request, exception: Exception) -> Response:
    """The page for an exception. A bug is logged, and tells nothing of itself."""
    if isinstance(exception, Base400):
        status, why = exception.status, str(exception)
    elif isinstance(exception, InputError):
        status, why = HTTPStatus.NOT_FOUND, str(exception)
    elif isinstance(exception, RampholdError):
        status, why = HTTPStatus.SERVICE_UNAVAILABLE, str(exception)
    else:
        _log.error("%s: a bug", request.path, exc_info=exception)
        status, why = HTTPStatus.INTERNAL_SERVER_ERROR, "this is a bug; the log says more"
    page = await site.show(
        request, "trouble.html", {"title": HTTPStatus(status).phrase, "why": why}
    )
    page.status = int(status)
    return page
