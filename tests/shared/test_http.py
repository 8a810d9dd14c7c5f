"""Fragments, redirects for htmx, stale forms, CSV out and tables in."""

import csv
import io
from decimal import Decimal
from types import SimpleNamespace

import pytest
from django.contrib import messages
from django.contrib.messages.storage.cookie import CookieStorage
from django.http import HttpResponse, HttpResponseRedirect
from django.test import RequestFactory
from django_htmx.middleware import HtmxMiddleware
from hypothesis import given
from hypothesis import strategies as st

from shared.http import (
    UploadRefused,
    csrf_failure,
    csv_cell,
    csv_response,
    htmx_redirects,
    open_page,
    read_upload,
    read_upload_text,
    render_fragment,
    render_page,
)

HTMX = {"HX-Request": "true", "HX-Current-URL": "http://testserver/plan/?week=7"}


def request_of(headers=None, method="get", path="/plan/rows/"):
    request = getattr(RequestFactory(), method)(path, headers=headers or {})
    HtmxMiddleware(lambda request: HttpResponse())(request)
    request._messages = CookieStorage(request)
    request.user = SimpleNamespace(is_authenticated=False, pk=None)
    return request


def answered(response, request):
    return htmx_redirects(lambda request: response)(request)


# Pages and fragments


def test_htmx_gets_the_fragment_and_a_person_the_page():
    page, fragment = "_plain.html", "_messages.html"
    assert b"<html" in render_page(request_of(), page, fragment).content
    swap = render_page(request_of(HTMX), page, fragment)
    assert b"<html" not in swap.content
    assert "HX-Request" in swap["Vary"]


def test_a_history_restore_gets_the_whole_page():
    headers = {**HTMX, "HX-History-Restore-Request": "true"}
    assert b"<html" in render_page(request_of(headers), "_plain.html", "_messages.html").content


def test_a_pending_message_rides_along_with_a_fragment_out_of_band():
    request = request_of(HTMX)
    assert b"hx-swap-oob" not in render_fragment(request, "_logo.html").content
    messages.success(request, "Saved <once>")
    html = render_fragment(request, "_logo.html", status=422)
    assert html.status_code == 422
    assert b"hx-swap-oob" in html.content
    assert b"Saved &lt;once&gt;" in html.content


# Redirects


def test_a_redirect_leaves_a_plain_request_alone():
    response = answered(HttpResponseRedirect("/next/"), request_of())
    assert (response.status_code, response["Location"]) == (302, "/next/")


def test_a_redirect_to_htmx_leaves_the_page_and_keeps_cookies():
    redirect = HttpResponseRedirect("/next/")
    redirect.set_cookie("units", "metric")
    response = answered(redirect, request_of(HTMX))
    assert (response.status_code, response["HX-Redirect"]) == (204, "/next/")
    assert not response.has_header("Location")
    assert response.cookies["units"].value == "metric"


def test_an_ended_session_sends_htmx_to_sign_in_and_back_to_the_open_page():
    response = answered(HttpResponseRedirect("/sign-in/?next=/plan/rows/"), request_of(HTMX))
    assert response.status_code == 401
    assert response["HX-Redirect"] == "/sign-in/?next=%2Fplan%2F%3Fweek%3D7"


def test_an_ended_session_sends_a_posted_form_back_to_the_page_it_stood_on():
    request = request_of({"Referer": "http://testserver/coupons/3/"}, "post", "/coupons/3/log/")
    response = answered(HttpResponseRedirect("/sign-in/?next=/coupons/3/log/"), request)
    assert response.status_code == 302
    assert response["Location"] == "/sign-in/?next=%2Fcoupons%2F3%2F"


def test_signing_out_by_htmx_is_no_ended_session():
    response = answered(HttpResponseRedirect("/sign-in/"), request_of(HTMX))
    assert (response.status_code, response["HX-Redirect"]) == (204, "/sign-in/")


def test_the_open_page_is_never_somebody_elses():
    assert open_page(request_of({"Referer": "https://evil.example/x"})) == "/"
    assert open_page(request_of({"HX-Request": "true", "HX-Current-URL": "//evil.example/"})) == "/"
    assert open_page(request_of()) == "/"


def test_a_stale_form_reloads_htmx():
    response = csrf_failure(request_of(HTMX, "post"))
    assert (response.status_code, response["HX-Refresh"]) == (403, "true")


@pytest.mark.django_db
def test_a_stale_form_leads_a_person_back_with_what_was_typed(client):
    from django.test import Client

    response = Client(enforce_csrf_checks=True).post(
        "/preferences/", {}, headers={"Referer": "http://testserver/coupons/3/"}
    )
    assert response.status_code == 403
    assert b"data-keep-typed" in response.content
    assert b'href="/coupons/3/"' in response.content


# CSV out


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", " =", "＝"])
def test_a_cell_that_begins_like_a_formula_is_quoted(start):
    # OWASP, "CSV Injection": = + - @ tab, carriage return, line feed and their full-width forms
    assert csv_cell(f"{start}1+1") == f"'{start}1+1"


def test_numbers_and_plain_text_are_left_as_they_are():
    cells = [-3, -3.5, Decimal("-0.10"), "1/16 in", "", None, True, "a=b"]
    assert [csv_cell(cell) for cell in cells] == [
        "-3",
        "-3.5",
        "-0.10",
        "1/16 in",
        "",
        "",
        "True",
        "a=b",
    ]


def test_a_download_has_its_name_and_opens_in_a_spreadsheet():
    response = csv_response("results año.csv", ["Name", "n"], [["=cmd()", -2], ["Ñandú, A.", 1]])
    assert response["Content-Disposition"].startswith("attachment; filename*=utf-8''results%20a")
    assert response.content.startswith(b"\xef\xbb\xbf")
    rows = list(csv.reader(io.StringIO(response.content.decode("utf-8-sig"))))
    assert rows == [["Name", "n"], ["'=cmd()", "-2"], ["Ñandú, A.", "1"]]


# Tables in


def upload(text, encoding="utf-8"):
    return io.BytesIO(text if isinstance(text, bytes) else text.encode(encoding))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_the_usual_encodings_and_separators_are_read(encoding, delimiter):
    text = f"name{delimiter}number\r\nNuñez{delimiter}17\r\n"
    assert read_upload(upload(text, encoding)) == [{"name": "Nuñez", "number": "17"}]


def test_rows_keep_their_line_and_blank_lines_and_short_rows_are_passed():
    rows = read_upload(upload('name,number,note\n"Ada\nLovel",1,x\n\n ,, \nBen,2\n'))
    assert rows == [
        {"name": "Ada\nLovel", "number": "1", "note": "x"},
        {"name": "Ben", "number": "2", "note": ""},
    ]
    assert [row.line for row in rows] == [3, 6]


@pytest.mark.parametrize(
    ("raw", "match"),
    [
        (b"", "empty"),
        (b" \n\n", "empty"),
        (b"a,b\n", "no rows"),
        (b"a,b\n1,2\0", "not a text file"),
        ("a,b\n1,2".encode("utf-16"), "not a text file"),
        (b"a,b\n1,\x81\n", "cannot be read"),
        (b"a,a\n1,2\n", "names “a” twice"),
        (b"a,,c\n1,2,3\n", "Column 2 has no name"),
        (b"a,b\n1,2,3\n", "Line 2 has 3 cells, the first line names 2"),
        (b'a,b\n"1,2\n', "quotation mark"),
    ],
)
def test_a_table_that_cannot_be_read_is_refused_in_words(raw, match):
    with pytest.raises(UploadRefused, match=match):
        read_upload(upload(raw))


def test_a_file_over_the_limits_is_refused(settings):
    settings.UPLOAD_MAX_BYTES, settings.UPLOAD_MAX_ROWS = 2048, 3
    with pytest.raises(UploadRefused, match="larger than 2 kB"):
        read_upload_text(upload("a" * 2049))
    assert len(read_upload(upload("a\n1\n2\n3\n"))) == 3
    with pytest.raises(UploadRefused, match="more than 3 rows"):
        read_upload(upload("a\n1\n2\n3\n4\n"))


_cell = st.text(
    st.characters(blacklist_categories=("Cs", "Cc"), blacklist_characters="'"), min_size=1
).map(str.strip)


@given(st.lists(st.tuples(_cell, _cell).filter(all), min_size=1, max_size=5))
def test_what_goes_out_comes_back_but_for_the_apostrophe(rows):
    back = read_upload(upload(csv_response("x.csv", ["a", "b"], rows).content))
    assert [(row["a"].removeprefix("'"), row["b"].removeprefix("'")) for row in back] == rows
