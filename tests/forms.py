"""Reads the forms of a page as a browser would send them untouched."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any
from urllib.parse import urljoin, urlsplit

Data = dict[str, list[str]]


@dataclass
class Form:
    """A form with the fields a browser sends, by name; `buttons` are name and value of each."""

    action: str
    method: str
    data: Data = field(default_factory=dict)
    buttons: list[tuple[str, str]] = field(default_factory=list)

    def add(self, name: str | None, value: str) -> None:
        if name:
            self.data.setdefault(name, []).append(value)


class _Reader(HTMLParser):
    def __init__(self, path: str) -> None:
        super().__init__()
        self.path = path
        self.forms: list[Form] = []
        self.by_id: dict[str, Form] = {}
        self.late: list[tuple[str, str, str]] = []  # fields that name their form by id
        self.form: Form | None = None
        self.area: tuple[str, list[str]] | None = None
        self.select: dict[str, Any] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        got = {name: value or "" for name, value in attrs}
        if tag == "form":
            action = urlsplit(urljoin(self.path, got.get("action", ""))).path
            self.form = Form(action, got.get("method", "get").lower())
            self.forms.append(self.form)
            if "id" in got:
                self.by_id[got["id"]] = self.form
        elif "disabled" in got:
            return
        elif tag == "input":
            self.input(got)
        elif tag == "button" and self.form and got.get("type", "submit") == "submit":
            self.form.buttons.append((got.get("name", ""), got.get("value", "")))
        elif tag == "textarea" and self.form:
            self.area = (got.get("name", ""), [])
        elif tag == "select":
            self.select = {"of": got, "first": None, "chosen": []}
        elif tag == "option" and self.select:
            value = got.get("value", "")
            if self.select["first"] is None:
                self.select["first"] = value
            if "selected" in got:
                self.select["chosen"].append(value)

    def input(self, got: dict[str, str]) -> None:
        kind = got.get("type", "text").lower()
        if kind in {"submit", "image"} and self.form:
            self.form.buttons.append((got.get("name", ""), got.get("value", "")))
        if kind in {"submit", "button", "image", "reset", "file"}:
            return
        if kind in {"checkbox", "radio"} and "checked" not in got:
            return
        self.put(got, got.get("value", "on" if kind in {"checkbox", "radio"} else ""))

    def put(self, got: dict[str, str], value: str) -> None:
        if "form" in got:
            self.late.append((got["form"], got.get("name", ""), value))
        elif self.form:
            self.form.add(got.get("name"), value)

    def handle_data(self, data: str) -> None:
        if self.area:
            self.area[1].append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.form = None
        elif tag == "textarea" and self.area:
            name, parts = self.area
            if self.form:
                self.form.add(name, "".join(parts).removeprefix("\n"))
            self.area = None
        elif tag == "select" and self.select:
            got, chosen = self.select["of"], self.select["chosen"]
            if "multiple" not in got and self.select["first"] is not None:
                chosen = chosen[-1:] or [self.select["first"]]
            for value in chosen:
                self.put(got, value)
            self.select = None


def forms_of(html: str, path: str) -> list[Form]:
    """Return the forms of a page that stands at `path`, in their order."""
    reader = _Reader(path)
    reader.feed(html)
    for ident, name, value in reader.late:
        if ident in reader.by_id:
            reader.by_id[ident].add(name, value)
    return reader.forms


def posting_form(html: str, path: str, action: str) -> Form:
    """Return the page's form that posts to `action`; AssertionError names those there are."""
    found = [form for form in forms_of(html, path) if form.method == "post"]
    for form in found:
        if form.action == action:
            return form
    raise AssertionError(f"{path} has no form for {action}, only for {[f.action for f in found]}")
