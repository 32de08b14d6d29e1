"""Benches: what each is doing now, and what waits for a person."""

from datasette.utils.asgi import Request, Response

from ramphold.browse.site import Site


async def benches_page(site: Site, request: Request) -> Response:
    """Every bench that stands."""
    return await site.show(request, "benches.html", {})


ROUTES = (("", benches_page),)
