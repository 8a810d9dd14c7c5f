"""Paper: HTML to PDF with WeasyPrint, page furniture, and QR codes that open the page on a tablet.

WeasyPrint and the Pango library it stands on are loaded when the first PDF is made, and only
then, so the program runs without them: `paper_response` shows the page for printing instead.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import ModuleType
from typing import Any, Literal

import segno
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.utils.http import content_disposition_header
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

Size = Literal["A4", "Letter"]
SIZES: tuple[Size, ...] = ("A4", "Letter")
# urljoin joins only onto schemes it knows; nothing is ever fetched from this name.
BASE_URL = "https://paper.invalid/"
TIGHTEST = 4  # how often a page that must fit is set tighter
PDF_OPTIONS = {"pdf_tags": True, "pdf_variant": "pdf/ua-1"}


class PaperUnavailable(RuntimeError):
    """No PDF can be made on this machine; the message names what to install."""


@cache
def _weasyprint() -> ModuleType:
    try:
        import weasyprint
    except (ImportError, OSError) as error:
        raise PaperUnavailable(
            _(
                "PDF needs the Pango library. On Debian or Ubuntu: apt install libpango-1.0-0 "
                "libpangoft2-1.0-0 libharfbuzz-subset0; on macOS: brew install pango."
            )
        ) from error
    module: ModuleType = weasyprint
    return module


@cache
def _fetcher() -> Any:
    """Return a fetcher that reads this project's static files and refuses all else."""
    _weasyprint()
    from shared.paper.fetching import StaticFilesFetcher

    return StaticFilesFetcher(BASE_URL)


def render_pdf(
    template: str,
    context: Mapping[str, Any] | None = None,
    *,
    size: Size = "A4",
    request: HttpRequest | None = None,
    pages: int | None = None,
) -> bytes:
    """Return `template` (it extends `print/base.html`) as a tagged PDF on A4 or Letter.

    With `pages` it is set ever tighter (`tight` from 0 to `TIGHTEST` in the template) until it
    takes no more pages than these.

    Raises
    ------
    PaperUnavailable
        If WeasyPrint or Pango is missing.
    ValueError
        If `size` is neither, or the page asks for a file that is not a static file of ours.
    """
    html_document = _weasyprint().HTML
    from weasyprint.urls import FatalURLFetchingError

    for tight in range(TIGHTEST + 1):
        setting = {**(context or {}), "tight": tight}
        html = render_html(template, setting, size=size, request=request)
        source = html_document(string=html, base_url=BASE_URL, url_fetcher=_fetcher())
        try:
            document = source.render(**PDF_OPTIONS)
            if pages is None or len(document.pages) <= pages or tight == TIGHTEST:
                pdf: bytes = document.write_pdf(**PDF_OPTIONS)
                return pdf
        except FatalURLFetchingError as error:  # a BaseException
            raise ValueError(str(error)) from error
    raise AssertionError("the tightest setting is always written")


def render_html(
    template: str,
    context: Mapping[str, Any] | None = None,
    *,
    size: Size = "A4",
    request: HttpRequest | None = None,
    notice: str = "",
) -> str:
    """Return the page as HTML: for the PDF, or for the browser's own print with a `notice`."""
    if size not in SIZES:
        raise ValueError(f"size must be A4 or Letter, got {size!r}")
    page = {"size": size, "notice": notice}
    return render_to_string(template, {**(context or {}), **page}, request)


def pdf_response(pdf: bytes, filename: str) -> HttpResponse:
    """Return a PDF that the browser shows, named `filename` when it is saved."""
    disposition = content_disposition_header(False, filename) or "inline"
    return HttpResponse(
        pdf, content_type="application/pdf", headers={"Content-Disposition": disposition}
    )


def paper_response(
    request: HttpRequest,
    template: str,
    context: Mapping[str, Any] | None = None,
    *,
    filename: str,
    size: Size = "A4",
    pages: int | None = None,
) -> HttpResponse:
    """Return the page as PDF; without Pango the same page for the browser's own print."""
    try:
        pdf = render_pdf(template, context, size=size, request=request, pages=pages)
    except PaperUnavailable as missing:
        notice = _("This is the page for your browser's own print. %(why)s") % {"why": missing}
        return HttpResponse(
            render_html(template, context, size=size, request=request, notice=notice)
        )
    return pdf_response(pdf, filename)


def qr_svg(url: str, *, millimetres: float = 18) -> SafeString:
    """Return a QR code as inline SVG, `millimetres` wide with its quiet zone; > 0.

    Error correction M after ISO/IEC 18004, so that a thumbprint on paper is forgiven.
    """
    if not millimetres > 0:
        raise ValueError(f"millimetres must be above 0, got {millimetres}")
    code = segno.make(url, error="m", micro=False)
    title = _("QR code: opens this page")
    svg = code.svg_inline(border=4, omitsize=True, svgclass="qr-code", lineclass=None, title=title)
    size = f'width="{millimetres:g}mm" height="{millimetres:g}mm" role="img"'
    return SafeString(svg.replace("<svg ", f"<svg {size} ", 1))
