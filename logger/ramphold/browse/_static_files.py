"""Style sheets, scripts and pictures of the pages, read once and served from memory."""

import hashlib
import mimetypes
from importlib import resources

from datasette.utils.asgi import NotFound, Response

from ramphold.report import sheet_style

_A_YEAR_S = 31_536_000


class StaticFiles:
    """The files of the folder `static`. A link holds part of a file's hash, so copies can be kept.

    Args:
        at: the path that they are served below.
    """

    def __init__(self, at: str) -> None:
        self._at = at
        folder = resources.files("ramphold.browse").joinpath("static")
        self._files = {one.name: one.read_bytes() for one in folder.iterdir() if one.is_file()}
        # The look of the reports is theirs alone.
        self._files["report.css"] = sheet_style(".report").encode()

    def url(self, name: str) -> str:
        """The link to a file; it changes with the file."""
        digest = hashlib.sha256(self._files[name]).hexdigest()
        return f"{self._at}/{name}?{digest[:12]}"

    def response(self, name: str) -> Response:
        """A file.

        Raises:
            NotFound: there is none of this name.
        """
        if name not in self._files:
            raise NotFound(f"there is no file {name}")
        kind = mimetypes.guess_type(name)[0] or "application/octet-stream"
        if kind.startswith("text/"):
            kind += "; charset=utf-8"
        headers = {"Cache-Control": f"public, max-age={_A_YEAR_S}, immutable"}
        return Response(self._files[name], headers=headers, content_type=kind)
