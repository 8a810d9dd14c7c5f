"""The sheet on exactly two pages, however much an exercise says."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse

from shared.paper import Size, paper_response
from shared.people.models import Campus

TEMPLATE = "print/sheet.html"
PAGES = 2


def paper_size(campus: Campus) -> Size:
    """Return the paper a campus prints on."""
    return "A4" if campus.paper == Campus.Paper.A4 else "Letter"


def sheet_response(
    request: HttpRequest, context: Mapping[str, Any], *, filename: str, size: Size
) -> HttpResponse:
    """Return the sheet as PDF: drawing and settings, then passes, limits and write-ins."""
    return paper_response(request, TEMPLATE, context, filename=filename, size=size, pages=PAGES)
