"""Every address of the app with the methods it takes and the fields it asks for, read from the running code.

Addresses are those of the URLconf. The names of fields are those that a view asks its request for, noted while it
answers; values that fit are those that the forms on its own pages come with.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any
from unittest import mock

from django.forms import FileInput
from django.http import QueryDict
from django.test import Client
from django.urls import NoReverseMatch, URLPattern, URLResolver, get_resolver

METHODS = ("GET", "POST", "HEAD", "PUT", "PATCH", "DELETE", "OPTIONS")
Fields = dict[str, list[str]]


@dataclass(frozen=True)
class Asked:
    """What an address asks for: names in the query, names in a form, names of files; and forms that lead to it."""

    query: set[str] = field(default_factory=set)
    posted: set[str] = field(default_factory=set)
    files: set[str] = field(default_factory=set)
    forms: list[Fields] = field(default_factory=list)


def routes(patterns: Any = None, before: tuple[tuple[str, str], ...] = (), path: str = "") -> Iterator[tuple[str, Any]]:
    """The route of every address and its converters by name."""
    for pattern in get_resolver().url_patterns if patterns is None else patterns:
        route, converters = path + str(pattern.pattern), (*before, *pattern.pattern.converters.items())
        if isinstance(pattern, URLResolver):
            yield from routes(pattern.url_patterns, converters, route)
        elif isinstance(pattern, URLPattern):
            yield route, dict(converters)


def filled(route: str, converters: dict[str, Any], values: dict[str, Any]) -> str:
    """The address with these values in it. Raises NoReverseMatch for a value that the route does not take."""
    for name, converter in converters.items():
        spelled = str(values[name])
        if not re.fullmatch(converter.regex, spelled):
            raise NoReverseMatch(f"{name} cannot be {spelled!r}")
        kind = next(part for part in route.split("<")[1:] if part.split(">")[0].split(":")[-1] == name).split(">")[0]
        route = route.replace(f"<{kind}>", spelled)
    return "/" + route


@contextmanager
def noting(asked: Asked, method: str) -> Iterator[None]:
    """While a view answers, keep the names that it asks its request for."""
    real = {name: getattr(QueryDict, name) for name in ("get", "getlist", "__getitem__")}
    names = asked.posted if method == "POST" else asked.query

    def noted_by(name: str) -> Callable[..., Any]:
        def noted(self: QueryDict, key: str, *rest: Any) -> Any:
            names.add(key)
            return real[name](self, key, *rest)

        return noted

    def file_noted(self: FileInput, data: Any, files: Any, name: str) -> Any:
        asked.files.add(name)
        return files.get(name)

    with (
        mock.patch.multiple(QueryDict, **{name: noted_by(name) for name in real}),
        mock.patch.object(FileInput, "value_from_datadict", file_noted),
    ):
        yield


class _Forms(HTMLParser):
    """The forms of a page: where each goes to, and the values its fields come with or offer."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, str, Fields]] = []
        self.inside: Fields | None = None
        self.select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        has = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.inside = defaultdict(list)
            self.found.append((has.get("action", ""), has.get("method", "get").upper(), self.inside))
        elif self.inside is not None and tag in ("input", "select", "textarea", "button") and has.get("name"):
            self.select = has["name"] if tag == "select" else ""
            values = self.inside[has["name"]]
            if tag != "select":
                values.insert(0 if "checked" in has else len(values), has.get("value", ""))
        elif tag == "option" and self.select and self.inside is not None:
            values = self.inside[self.select]
            values.insert(0 if "selected" in has else len(values), has.get("value", ""))

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.inside = None


def forms_of(page: str) -> list[tuple[str, str, Fields]]:
    parser = _Forms()
    parser.feed(page)
    return parser.found


def learn(client: Client, address: str) -> Asked:
    """Ask the address with a field that nobody knows, and note what it would have liked to be told."""
    asked, cookies = Asked(), client.cookies.copy()
    for method in ("GET", "POST"):
        with noting(asked, method):
            answer = client.get(address, {"x": "1"}) if method == "GET" else client.post(address, {"x": "1"})
            if answer.streaming:
                b"".join(answer.streaming_content)
    client.cookies = cookies
    for own in (asked.query, asked.posted, asked.files):
        own.discard("csrfmiddlewaretoken")
    return asked
