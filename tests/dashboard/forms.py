"""What a browser would send of a page's own form if nothing in it is touched."""

from __future__ import annotations

from html.parser import HTMLParser
from typing import Any

from django.test import Client


class Form(HTMLParser):
    def __init__(self, text: str, kind: str = "record") -> None:
        super().__init__()
        self.sent: dict[str, Any] = {}
        self.kind, self.inside, self.select, self.area = kind, False, "", ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "form":
            self.inside = self.kind in (given.get("class") or "").split()
        elif not self.inside:
            return
        elif tag == "input":
            self._input(given)
        elif tag == "select":
            self.select = given["name"]
        elif tag == "option" and ("selected" in given or self.select not in self.sent):
            self.sent[self.select] = given["value"]
        elif tag == "textarea":
            self.area = given["name"]
            self.sent[self.area] = ""

    def _input(self, given: dict[str, str | None]) -> None:
        name = given["name"]
        if name == "csrfmiddlewaretoken":
            return
        if given.get("type") != "checkbox":
            self.sent[name] = given.get("value", "")
        elif "checked" in given:
            self.sent.setdefault(name, []).append(given.get("value"))

    def handle_endtag(self, tag: str) -> None:
        self.area = "" if tag == "textarea" else self.area

    def handle_data(self, data: str) -> None:
        if self.area:
            self.sent[self.area] += data


def typed(client: Client, url: str, kind: str = "record") -> dict[str, Any]:
    return Form(client.get(url).content.decode(), kind).sent
