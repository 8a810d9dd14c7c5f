"""Paper comes out with its furniture, from local files only; without Pango the page is shown."""

import io
import re

import pytest
from django.template import engines
from django.test import RequestFactory

import shared.paper as paper
from shared.paper import (
    PaperUnavailable,
    paper_response,
    pdf_response,
    qr_svg,
    render_html,
    render_pdf,
)

TEMPLATE = """
{% extends "print/base.html" %}
{% block title %}Cut list{% endblock %}
{% block running %}Cut list 14, version 2{% endblock %}
{% block content %}<h1>Sheet 14 ga</h1>{% state "pass" %}{{ body|safe }}{% endblock %}
"""


@pytest.fixture
def page(settings, tmp_path):
    (tmp_path / "page.html").write_text(TEMPLATE)
    templates = settings.TEMPLATES
    settings.TEMPLATES = [{**templates[0], "DIRS": [tmp_path, *templates[0]["DIRS"]]}]
    engines._templates = None
    return "page.html"


def pages_of(pdf):
    from pypdf import PdfReader

    return PdfReader(io.BytesIO(pdf)).pages


@pytest.mark.pdf
@pytest.mark.parametrize(
    ("size", "points"),
    # ISO 216: A4 is 210 × 297 mm; ANSI/ASME Y14.1 size A (Letter) is 8.5 × 11 in; 72 points an inch
    [("A4", (595.28, 841.89)), ("Letter", (612, 792))],
)
def test_a_pdf_has_the_size_page_numbers_and_the_invented_mark(page, size, points):
    body = "<p>line</p>" * 120
    pdf = pages_of(render_pdf(page, {"invented": True, "body": body}, size=size))
    assert tuple(map(float, pdf[0].mediabox[2:])) == pytest.approx(points, abs=0.05)
    for number, each in enumerate(pdf, start=1):
        text = re.sub(r"\s+", " ", each.extract_text())
        assert f"page {number} of {len(pdf)}" in text
        assert "Invented data" in text
        assert "Cut list 14, version 2" in text
    assert len(pdf) > 1


@pytest.mark.pdf
def test_a4_and_letter_break_at_the_same_line(page):
    body = "".join(f"<p>line {i} end</p>" for i in range(150))
    lines = [
        [re.findall(r"line (\d+) end", each.extract_text()) for each in pages_of(pdf)]
        for pdf in (render_pdf(page, {"body": body}, size=size) for size in ("A4", "Letter"))
    ]
    assert lines[0] == lines[1]


@pytest.mark.pdf
@pytest.mark.parametrize(
    "url",
    [
        "http://example.org/x.png",
        "file:///etc/hostname",
        "/static/../shared/settings.py",
        "/static/%2e%2e/shared/settings.py",
        "/static/img/none.svg",
        "/elsewhere/x.png",
    ],
)
def test_paper_loads_static_files_of_the_project_only(page, url):
    with pytest.raises(ValueError, match="static file"):
        render_pdf(page, {"body": f'<img src="{url}" alt="">'})


@pytest.mark.pdf
def test_the_fonts_of_the_project_are_in_the_pdf(page):
    fonts = str(pages_of(render_pdf(page, {}))[0]["/Resources"]["/Font"])
    names = {
        str(font.get_object()["/BaseFont"])
        for font in pages_of(render_pdf(page, {}))[0]["/Resources"]["/Font"].values()
    }
    assert any("Atkinson" in name for name in names), fonts


def test_without_pango_the_page_is_shown_for_the_browsers_own_print(page, monkeypatch):
    def missing():
        raise PaperUnavailable("install Pango")

    monkeypatch.setattr(paper, "_weasyprint", missing)
    response = paper_response(RequestFactory().get("/"), page, {"invented": True}, filename="x.pdf")
    html = response.content.decode()
    assert response["Content-Type"].startswith("text/html")
    assert "install Pango" in html
    assert "Sheet 14 ga" in html


def test_a_missing_library_is_named_with_what_to_install(monkeypatch):
    import builtins

    load = builtins.__import__

    def broken(name, *args, **kwargs):
        if name == "weasyprint":
            raise OSError("cannot load library 'libpango-1.0-0'")
        return load(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", broken)
    with pytest.raises(PaperUnavailable, match=r"libpango-1\.0-0"):
        paper._weasyprint.__wrapped__()


def test_another_paper_size_is_refused(page):
    with pytest.raises(ValueError, match="size must be A4 or Letter"):
        render_html(page, size="A5")


def test_a_pdf_is_shown_and_has_a_name():
    response = pdf_response(b"%PDF-", "day sheet.pdf")
    assert response["Content-Type"] == "application/pdf"
    assert response["Content-Disposition"] == 'inline; filename="day sheet.pdf"'


def test_a_qr_code_has_the_modules_of_its_version_and_a_quiet_zone():
    # ISO/IEC 18004: version 1 has 21 modules a side, each version 4 more; quiet zone of 4
    svg = qr_svg("HTTPS://A.EX/1")
    assert 'viewBox="0 0 29 29"' in svg
    assert 'width="18mm"' in svg
    with pytest.raises(ValueError, match="millimetres"):
        qr_svg("x", millimetres=0)
