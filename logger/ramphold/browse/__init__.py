"""The laboratory's page: what was collected, seen in a web browser. A plugin for datasette.

datasette finds the hooks and `templates` here. It serves them; what a page shows is read through
the collector's own `Archive`, so that SQLite and PostgreSQL look the same. Nothing writes.
"""

from ramphold.browse._hooks import (
    actor_from_request,
    asgi_wrapper,
    menu_links,
    register_routes,
    startup,
)

__all__ = [
    "actor_from_request",
    "asgi_wrapper",
    "menu_links",
    "register_routes",
    "startup",
]
