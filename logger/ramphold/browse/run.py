"""A run: its trace as a figure that can be zoomed, its figures, and its events."""

from datasette.utils.asgi import Request, Response

from ramphold.browse.site import Site


async def run_page(site: Site, request: Request) -> Response:
    """One run, by series and number."""
    return await site.show(request, "run.html", {"run": int(request.url_vars["run"])})


ROUTES = ((r"/runs/(?P<series>[0-9a-f]{32})/(?P<run>[0-9]{1,15})", run_page),)
