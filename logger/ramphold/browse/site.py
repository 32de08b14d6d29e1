"""What every page is made with: the archive to read, the time, and templates."""

import asyncio
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

import msgspec
from datasette.app import Datasette
from datasette.utils.asgi import Request, Response
from markupsafe import Markup

from ramphold.browse._sample_reports import SampleReports
from ramphold.browse._static_files import StaticFiles
from ramphold.browse.config import BrowseConfig
from ramphold.browse.live import LiveBenches
from ramphold.clock import Clock, utc_text
from ramphold.collector.archive import Archive, open_archive
from ramphold.plain_text import visible

T = TypeVar("T")

#: Every page stands below this path.
PREFIX = "/laboratory"
#: Name and path of each place of the navigation.
PLACES = (
    ("Benches", ""),
    ("Samples", "/samples"),
    ("Work", "/work"),
    ("Over time", "/over-time"),
)
_READERS = 4


class Site:
    """The pages of one archive.

    Args:
        datasette: renders the templates.
        config: the archive, and who is in front.
        clock: the time.

    Attributes:
        config, clock: as given.
        static: style sheets, scripts and pictures, by name.
        reports: reports of samples.
        live: what the benches say of themselves now.
    """

    def __init__(self, datasette: Datasette, config: BrowseConfig, clock: Clock) -> None:
        self.config, self.clock = config, clock
        self.static = StaticFiles(f"{PREFIX}/static")
        self.reports = SampleReports(config)
        self.live = LiveBenches(config.broker, config.name, clock)
        self._datasette = datasette
        self._readers = ThreadPoolExecutor(_READERS, thread_name_prefix="browse")

    def start(self) -> None:
        """Begin to listen to the benches, and read what reports rest on."""
        self.live.start()
        # An archive that can't be read yet is told by the pages.
        self._readers.submit(self._done, self.reports.warm)

    async def read(self, work: Callable[[Archive], T]) -> T:
        """Call `work` in a thread with the archive, which is opened to read and as of one moment.

        Raises:
            StoreError: the archive cannot be opened or read.
        """
        return await asyncio.get_running_loop().run_in_executor(self._readers, self._done, work)

    async def show(
        self,
        request: Request,
        template: str,
        values: Mapping[str, Any],
        *,
        markup: Mapping[str, str | Sequence[str]] | None = None,
    ) -> Response:
        """A page.

        Args:
            request: what was asked for.
            template: a file in `templates/laboratory`.
            values: what it shows: structs, lists and dicts of plain values. Every text in it is
                shown without characters that hide or move others.
            markup: HTML or SVG by name, or lists of it, in which every text is escaped already.
        """
        around = {
            "at": PREFIX,
            "note": visible(self.config.note),
            "places": [(name, PREFIX + path) for name, path in PLACES],
            "made": utc_text(self.clock.utc_ns()),
            "static": self.static.url,
            "markup": {name: _marked_up(one) for name, one in (markup or {}).items()},
        }
        shown = _shown(msgspec.to_builtins(dict(values)))
        made = await self._datasette.render_template(
            f"laboratory/{template}", {**shown, **around}, request
        )
        return Response.html(made)

    async def aclose(self) -> None:
        """Leave the broker, and end the threads after the work already given."""
        await self.live.aclose()
        self._readers.shutdown()

    def _done(self, work: Callable[[Archive], T]) -> T:
        with open_archive(self.config.archive, read_only=True) as archive, archive.snapshot():
            return work(archive)


def _marked_up(made: str | Sequence[str]) -> Markup | list[Markup]:
    if isinstance(made, str):
        return Markup(made)  # noqa: S704 - whoever made it has escaped every text
    return [Markup(one) for one in made]  # noqa: S704


def _shown(value: Any) -> Any:  # noqa: ANN401 - whatever plain values a page has
    if isinstance(value, str):
        return visible(value, "\n")
    if isinstance(value, dict):
        return {key: _shown(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_shown(one) for one in value]
    return value
