"""Stands before every page: who may ask for what, and the headers of each answer.

The policy of content (CSP, level 3 of the W3C) lets a browser load nothing from elsewhere and run
no script that stands in a page, whatever text a sample's name holds.
"""

from collections.abc import Awaitable, Callable, MutableMapping
from http import HTTPStatus
from typing import Any

from ramphold.browse.site import PREFIX, Site

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Scope]]
Send = Callable[[Scope], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

POLICY = (
    "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'"
)
_HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
)
_OURS = frozenset(name for name, _ in _HEADERS)


class Guard:
    """An ASGI application before another.

    Args:
        app: what it stands before.
        site: the pages.
        alone: whether nothing else is served: all other paths are refused.
    """

    def __init__(self, app: App, site: Site, *, alone: bool) -> None:
        self._app, self._site, self._alone = app, site, alone

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self._app(scope, self._until_shutdown(receive), send)
            return
        # As datasette routes it: whatever is written otherwise is none of ours.
        raw = scope.get("raw_path") or scope["path"].encode()
        path = raw.decode("latin-1").partition("?")[0]
        ours = path == PREFIX or path.startswith(f"{PREFIX}/")
        if not (ours or self._alone):
            await self._app(scope, receive, send)
        elif refusal := self._refusal(scope, ours=ours or path == "/"):
            await _refuse(send, *refusal)
        else:
            await self._app(scope, receive, _with_headers(send))

    def _refusal(self, scope: Scope, *, ours: bool) -> tuple[HTTPStatus, str] | None:
        config = self._site.config
        headers = dict(scope["headers"])
        name = _host_name(headers.get(b"host", b"").decode("latin-1"))
        if not config.is_asked_for(name):
            why = f"nothing here is called {name[:80]!r}: `names` of the configuration says what is"
            return HTTPStatus.MISDIRECTED_REQUEST, why
        if scope["method"] not in ("GET", "HEAD"):
            return HTTPStatus.METHOD_NOT_ALLOWED, "these pages are to read only"
        if config.user_header and not headers.get(config.user_header.lower().encode()):
            return HTTPStatus.FORBIDDEN, "the proxy has not said who looks"
        if not ours:
            return HTTPStatus.NOT_FOUND, f"there is nothing here; the pages begin at {PREFIX}"
        return None

    def _until_shutdown(self, receive: Receive) -> Receive:
        async def received() -> Scope:
            message = await receive()
            if message["type"] == "lifespan.shutdown":
                await self._site.aclose()
            return message

        return received


def _host_name(host: str) -> str:
    """A host without its port."""
    if host.startswith("["):
        return host[1:].partition("]")[0]
    return host.partition(":")[0].lower()


def _with_headers(send: Send) -> Send:
    async def sent(message: Scope) -> None:
        if message["type"] == "http.response.start":
            kept = [one for one in message.get("headers", ()) if bytes(one[0]).lower() not in _OURS]
            if all(bytes(name).lower() != b"cache-control" for name, _ in kept):
                kept.append((b"cache-control", b"no-cache"))
            message = {**message, "headers": [*kept, *_HEADERS]}
        await send(message)

    return sent


async def _refuse(send: Send, status: HTTPStatus, why: str) -> None:
    body = f"{status.value} {status.phrase}: {why}\n".encode()
    headers = [(b"content-type", b"text/plain; charset=utf-8"), *_HEADERS]
    if status is HTTPStatus.METHOD_NOT_ALLOWED:
        headers.append((b"allow", b"GET, HEAD"))
    await send({"type": "http.response.start", "status": status.value, "headers": headers})
    await send({"type": "http.response.body", "body": body})
