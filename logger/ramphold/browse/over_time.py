"""Over time: control charts, one source's class and fines, wear, and what is due."""

from datasette.utils.asgi import Request, Response

from ramphold.browse.site import Site


async def over_time_page(site: Site, request: Request) -> Response:
    """The charts."""
    return await site.show(request, "over_time.html", {})


ROUTES = ((r"/over-time", over_time_page),)
