"""Work: samples that are open, specimens by day and bench, and runs that failed."""

from datasette.utils.asgi import Request, Response

from ramphold.browse.site import Site


async def work_page(site: Site, request: Request) -> Response:
    """What is open, and what was done."""
    return await site.show(request, "work.html", {})


ROUTES = ((r"/work", work_page),)
