"""Requests, pages and fragments, redirects for htmx, and the one gate for tables in and out."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import Decimal
from typing import IO, TYPE_CHECKING, Any
from urllib.parse import parse_qs, urlencode, urlsplit

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render, resolve_url
from django.template.loader import render_to_string
from django.utils.cache import patch_vary_headers
from django.utils.http import content_disposition_header, url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _

from shared.people.access import AppRequest

if TYPE_CHECKING:
    from django_htmx.middleware import HtmxDetails

__all__ = [
    "AppRequest",
    "UploadRefused",
    "UploadRow",
    "csrf_failure",
    "csv_cell",
    "csv_response",
    "htmx_redirects",
    "open_page",
    "read_upload",
    "read_upload_text",
    "render_fragment",
    "render_page",
]


# Pages


def render_page(
    request: HttpRequest,
    page: str,
    fragment: str,
    context: Mapping[str, Any] | None = None,
    status: int = 200,
) -> HttpResponse:
    """Render `fragment` for an htmx swap, `page` for the rest and for a history restore."""
    htmx: HtmxDetails = request.htmx  # type: ignore[attr-defined]
    if htmx and not htmx.history_restore_request:
        response = render_fragment(request, fragment, context, status)
    else:
        response = render(request, page, context, status=status)
    patch_vary_headers(response, ["HX-Request", "HX-History-Restore-Request"])
    return response


def render_fragment(
    request: HttpRequest,
    fragment: str,
    context: Mapping[str, Any] | None = None,
    status: int = 200,
) -> HttpResponse:
    """Render `fragment`, and after it the message strip, out of band, when a message is pending."""
    html = render_to_string(fragment, context, request)
    if len(messages.get_messages(request)):
        html += render_to_string("_messages.html", {"out_of_band": True}, request)
    return HttpResponse(html, status=status)


# Redirects


def htmx_redirects(
    get_response: Callable[[HttpRequest], HttpResponseBase],
) -> Callable[[HttpRequest], HttpResponseBase]:
    """Turn a redirect answered to htmx into "leave this page".

    The response is changed in place, because a new one would drop its cookies: 204 with
    `HX-Redirect`. Sent to the sign-in page because the session ended, htmx gets 401, and the
    way back is the page that was open, never the fragment or form target that was asked for.
    """

    def middleware(request: HttpRequest) -> HttpResponseBase:
        response = get_response(request)
        if not (300 <= response.status_code < 400 and response.has_header("Location")):
            return response
        location = response["Location"]
        asks_to_sign_in = _asks_to_sign_in(location)
        if asks_to_sign_in and (request.htmx or request.method != "GET"):  # type: ignore[attr-defined]
            location = f"{urlsplit(location).path}?{urlencode({'next': open_page(request)})}"
            response["Location"] = location
        if request.htmx and isinstance(response, HttpResponse):  # type: ignore[attr-defined]
            response.status_code = 401 if asks_to_sign_in else 204
            response.content = b""
            response["HX-Redirect"] = location
            del response["Location"]
        return response

    return middleware


def _asks_to_sign_in(location: str) -> bool:
    parts = urlsplit(location)
    return parts.path == resolve_url(settings.LOGIN_URL) and "next" in parse_qs(parts.query)


def open_page(request: HttpRequest) -> str:
    """Return path and query of the page a request was made from; "/" where that is not ours."""
    htmx: HtmxDetails | None = getattr(request, "htmx", None)
    url = (htmx.current_url if htmx else None) or request.headers.get("Referer", "")
    if not url or not url_has_allowed_host_and_scheme(url, allowed_hosts={request.get_host()}):
        return "/"
    parts = urlsplit(url)
    return parts.path + (f"?{parts.query}" if parts.query else "")


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a stale form: htmx reloads its page, a person gets a page that leads back.

    The script keeps what was typed in both cases; see `static/js/app.js`.
    """
    if request.headers.get("HX-Request"):
        return HttpResponse(status=403, headers={"HX-Refresh": "true"})
    why = _(
        "This form was opened before the last sign-in, so it was not saved. "
        "Open it again: what you typed is still there. Then send it once more."
    )
    context = {"why": why, "back": open_page(request), "keep_typed": True}
    return render(request, "403.html", context, status=403)


# Tables out

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def csv_cell(value: object) -> str:
    """Return a cell as text that a spreadsheet shows and never runs.

    Text that begins like a formula gets an apostrophe in front (OWASP, "CSV Injection").
    Numbers stay numbers, so -3.5 from a float or Decimal is left as it is. None is empty.
    """
    if value is None:
        return ""
    text = str(value)
    if isinstance(value, int | float | Decimal):
        return text
    return f"'{text}" if text.lstrip(" ").startswith(_FORMULA_STARTS) else text


def csv_response(
    filename: str, header: Sequence[object], rows: Iterable[Sequence[object]]
) -> HttpResponse:
    """Return a table as a CSV download, UTF-8 with a byte-order mark for spreadsheets."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow([csv_cell(cell) for cell in header])
    writer.writerows([csv_cell(cell) for cell in row] for row in rows)
    return HttpResponse(
        out.getvalue().encode("utf-8-sig"),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": content_disposition_header(True, filename) or "attachment"},
    )


# Tables in


class UploadRefused(ValueError):
    """A file that is not taken in; the message is a sentence that says what would be."""


class UploadRow(dict[str, str]):
    """One row of an uploaded table, cells by column name; `line` is its line in the file."""

    line: int = 0


def read_upload_text(file: IO[bytes]) -> str:
    """Return an uploaded text file, at most `UPLOAD_MAX_BYTES` long, read as UTF-8 or cp1252.

    Raises
    ------
    UploadRefused
        If it is too large, empty, or not a text file.
    """
    raw = file.read(settings.UPLOAD_MAX_BYTES + 1)
    if len(raw) > settings.UPLOAD_MAX_BYTES:
        largest = settings.UPLOAD_MAX_BYTES // 1024
        raise UploadRefused(_("The file is larger than %(size)d kB.") % {"size": largest})
    if b"\0" in raw:
        raise UploadRefused(_("This is not a text file. Save the table as CSV, UTF-8."))
    for encoding in ("utf-8-sig", "cp1252"):
        try:
            text = raw.decode(encoding)
        except UnicodeDecodeError:
            continue
        if not text.strip():
            raise UploadRefused(_("The file is empty."))
        return text
    raise UploadRefused(_("The letters in this file cannot be read. Save it as CSV, UTF-8."))


def read_upload(file: IO[bytes]) -> list[UploadRow]:
    """Return the rows of an uploaded CSV table, at most `UPLOAD_MAX_ROWS`, cells stripped.

    The first line names the columns. Comma, semicolon and tab are told apart by that line;
    a cell that is missing at the end of a row is empty, blank lines are passed over.

    Raises
    ------
    UploadRefused
        As `read_upload_text`, and if the table has no rows, too many, a column without a name
        or named twice, or a row that is longer than the heading.
    """
    text = read_upload_text(file)
    first = next(line for line in text.splitlines() if line.strip())
    delimiter = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    columns: list[str] | None = None
    rows: list[UploadRow] = []
    try:
        for cells in reader:
            cells = [cell.strip() for cell in cells]
            if not any(cells):
                continue
            if columns is None:
                columns = _column_names(cells)
                continue
            rows.append(_row(columns, cells, reader.line_num))
            if len(rows) > settings.UPLOAD_MAX_ROWS:
                most = settings.UPLOAD_MAX_ROWS
                raise UploadRefused(_("The table has more than %(most)d rows.") % {"most": most})
    except csv.Error as error:
        where = {"line": reader.line_num}
        raise UploadRefused(
            _('Line %(line)d cannot be read as a table: a quotation mark (") is out of place.')
            % where
        ) from error
    if not rows:
        raise UploadRefused(_("The table has a heading line and no rows."))
    return rows


def _column_names(cells: list[str]) -> list[str]:
    while cells and not cells[-1]:
        cells.pop()
    for position, name in enumerate(cells, start=1):
        if not name:
            raise UploadRefused(
                _("Column %(position)d has no name in the first line.") % {"position": position}
            )
        if name in cells[: position - 1]:
            raise UploadRefused(_("The first line names “%(name)s” twice.") % {"name": name})
    return cells


def _row(columns: list[str], cells: list[str], line: int) -> UploadRow:
    while len(cells) > len(columns) and not cells[-1]:
        cells.pop()
    if len(cells) > len(columns):
        numbers = {"line": line, "cells": len(cells), "columns": len(columns)}
        raise UploadRefused(
            _("Line %(line)d has %(cells)d cells, the first line names %(columns)d.") % numbers
        )
    row = UploadRow(zip(columns, cells + [""] * (len(columns) - len(cells)), strict=True))
    row.line = line
    return row
