"""Serves the pages alone: datasette without a database of its own, and the web server."""

import logging
import signal
import socket
from collections.abc import Callable

import uvicorn
from datasette.app import Datasette
from datasette.plugins import pm
from msgspec import to_builtins

import ramphold.browse
from ramphold.browse._plugin_config import NAME
from ramphold.browse.config import BrowseConfig
from ramphold.collector.archive import open_archive
from ramphold.errors import PortError


def laboratory(config: BrowseConfig) -> Datasette:
    """A datasette with these pages and nothing else.

    Raises:
        ConfigError: the configuration contradicts itself.
    """
    config.check()
    if not pm.is_registered(ramphold.browse):
        pm.register(ramphold.browse)
    return Datasette(metadata={"plugins": {NAME: to_builtins(config)}})


def serve(config: BrowseConfig, listening: Callable[[str], None]) -> None:
    """Serve the pages until SIGTERM or SIGINT.

    Args:
        config: the archive, and where to listen.
        listening: called with the address once browsers can connect.

    Raises:
        ConfigError: the configuration contradicts itself.
        StoreError: the archive cannot be read.
        PortError: the address is not ours, or is taken.
    """
    found = laboratory(config)
    open_archive(config.archive, read_only=True).close()
    server = uvicorn.Server(
        uvicorn.Config(
            found.app(),
            lifespan="on",
            log_level=logging.WARNING,
            access_log=False,
            server_header=False,
            proxy_headers=False,
        )
    )

    def end(*_: object) -> None:
        # The server takes these over, and sends us again what it got.
        server.should_exit = True

    with _listening(config) as taken:
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, end)
        host, port = taken.getsockname()[:2]
        listening(f"http://{f'[{host}]' if ':' in host else host}:{port}/")
        server.run(sockets=[taken])


def _listening(config: BrowseConfig) -> socket.socket:
    try:
        family, *_, address = socket.getaddrinfo(
            config.host, config.port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        return socket.create_server(address[:2], family=family)
    except OSError as error:
        # The standard library adds the address to some of its texts, which is said already.
        why = str(error.strerror).partition(" (")[0]
        raise PortError(
            f"can't listen at {config.host} port {config.port}: {why}; try another --port"
        ) from None
