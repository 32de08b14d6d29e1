"""A sample: its report, its runs, and files of it."""

from datasette.utils.asgi import Request, Response

from ramphold.browse.site import Site


async def sample_page(site: Site, request: Request) -> Response:
    """One sample, by series and number."""
    return await site.show(request, "sample.html", {"sample": int(request.url_vars["sample"])})


ROUTES = ((r"/samples/(?P<series>[0-9a-f]{32})/(?P<sample>[0-9]{1,15})", sample_page),)
