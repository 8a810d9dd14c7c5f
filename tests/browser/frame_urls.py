"""A page with one kept form (htmx) and one plain form, for the tests of the page frame."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.template import engines
from django.urls import include, path

from shared.people.once import once_only

RECEIVED: list[tuple[str, str]] = []

PAGE = """
{% extends "base.html" %}{% load people %}
{% block title %}Forms{% endblock %}
{% block content %}
  <h1>Forms</h1>
  <form id="kept" method="post" action="/frame/kept/" hx-post="/frame/kept/" hx-target="#answer"
        hx-swap="outerHTML" hx-sync="this:drop" data-keep="{{ user.pk }}-kept">
    {% csrf_token %}{% submission_key %}
    <label>Leg <input name="leg"></label>
    <button type="submit" name="do" value="log" hx-disabled-elt="this">Log</button>
  </form>
  <p id="answer">nothing yet</p>
  <form id="plain" method="post" action="/frame/plain/">
    {% csrf_token %}{% submission_key %}
    <label>Title <input name="title"></label>
    <label><input type="checkbox" name="ok" value="a">A</label>
    <label><input type="checkbox" name="ok" value="b">B</label>
    <button type="submit" data-confirm="Tap again">Save</button>
  </form>
{% endblock %}
"""


def page(request: HttpRequest) -> HttpResponse:
    return HttpResponse(engines["django"].from_string(PAGE).render({}, request))


@once_only
def kept(request: HttpRequest) -> HttpResponse:
    RECEIVED.append((request.POST["leg"], request.POST["do"]))
    return HttpResponse(f'<p id="answer">{len(RECEIVED)} received</p>')


@once_only
def plain(request: HttpRequest) -> HttpResponse:
    RECEIVED.append((request.POST["title"], ",".join(request.POST.getlist("ok"))))
    return redirect("/frame/")


urlpatterns = [
    path("frame/", page),
    path("frame/kept/", kept),
    path("frame/plain/", plain),
    path("", include("shared.people.urls")),
]
