"""What a page on paper may load: static files of this project, from disk, nothing else.

Imports WeasyPrint, so it is itself imported only when a PDF is made.
"""

from __future__ import annotations

import mimetypes
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urljoin, urlsplit

from django.conf import settings
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse


class StaticFilesFetcher(URLFetcher):  # type: ignore[misc]
    """Read `base_url` + STATIC_URL from collected files or the finders; refuse any other URL."""

    def __init__(self, base_url: str) -> None:
        super().__init__(allowed_protocols=())
        self._root = urljoin(base_url, settings.STATIC_URL)

    def fetch(self, url: str, headers: Any = None) -> URLFetcherResponse:
        """Return the static file, or stop the PDF: any milder error would only leave a gap."""
        address = urlsplit(url)
        clean = address._replace(query="", fragment="").geturl()
        if not clean.startswith(self._root):
            raise FatalURLFetchingError(f"Paper loads static files of this project only, not {url}")
        name = unquote(clean.removeprefix(self._root))
        if ".." in Path(name).parts:
            raise FatalURLFetchingError(f"Paper loads no file outside the static files: {url}")
        kind = mimetypes.guess_type(name)[0] or "application/octet-stream"
        return URLFetcherResponse(url, _read(name), {"Content-Type": kind})


def _read(name: str) -> bytes:
    try:
        if staticfiles_storage.exists(name):
            with staticfiles_storage.open(name) as file:
                return bytes(file.read())
    except (OSError, ValueError, NotImplementedError):
        pass  # nothing collected, as in development: the finders have it
    found = finders.find(name)
    if not found:
        raise FatalURLFetchingError(f"There is no static file {name}")
    return Path(str(found)).read_bytes()
