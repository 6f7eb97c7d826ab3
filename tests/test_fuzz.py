"""Whatever is sent to whatever address by whomever: an answer with a sentence, never a 500 and never a traceback.

The schema is read from the running code (tests/schema.py), the values are ones that fit, bent ones, and both mixed.
Every request is rolled back, so that each meets the same build.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client
from django.urls import NoReverseMatch, resolve
from django.utils import timezone
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from buildlog.core.work.deeds import DeviceEntryKind
from buildlog.files.plan_tables import PLAN_TABLES
from buildlog.models import Build
from tests.floor.tablet import Tablet
from tests.people import client_of, give_device, start_stint
from tests.schema import METHODS, Asked, Fields, filled, forms_of, learn, routes

pytestmark = [pytest.mark.django_db, pytest.mark.screen]

NUMBERS = ("0", "-1", "1", "2", "1e9", "1e999", "NaN", "-inf", "1_000", "9" * 19, "9" * 30, "9" * 400, "9" * 5000,
           "٣", "½", "0x10", "1,5", "1.5", "2147483648", "9223372036854775808")  # fmt: skip
TIMES = ("9999-12-31", "0001-01-01", "0000-01-01", "10000-01-01", "2026-02-30", "2026-03-29T02:30",
         "2026-10-25T02:30", "9999-12-31T23:59", "0001-01-01T00:00", "2026-05-02 09:00", "25:00", "00:00", "23:59:59",
         "2026-05-02T09:00+23:59", "--")  # fmt: skip
TEXTS = ("", " ", "\x00", "\ud7ff", "\ufeff", "\u202e", "🎈" * 50, "<script>alert(1)</script>", "'; --", "{x}", "%s",
         "{{ 7*7 }}", "../../etc/passwd", "//evil.test/", "None", "null", "[]", "{}", "=1+1", "R1-1", "R1", "R1 to R5",
         "R5-R1", "R" + "9" * 5000, "R1-" + "9" * 5000, "R1 " * 5000, "x" * 20_001, "\n\r\t", "populate", "wire", "on",
         str(uuid.UUID(int=7)), "a" * 64)  # fmt: skip
ODD = (*NUMBERS, *TIMES, *TEXTS)
FILES = (b"", b"a", b"PK\x03\x04", b"name,ring\n" * 3, b"\xff\xfe\x00", b'"', b"name\n" + b"9" * 5000,
         b"ring,pixels\n1,40\n",
         b"name;stage;start;end\nMarek;mount;2026-05-02 09:00;2026-05-02 10:00\n")  # fmt: skip
JSONS = (None, True, 0, -1, 1.5, 1e308, 10**19, 10**30, 10**400, "", "x", "\x00", "\ud800", [], [[]], {}, {"a": 1},
         "9999-12-31", str(uuid.UUID(int=7)))  # fmt: skip
WHO = ("Ilse", "Marek", "Otis", "Pia", "nobody")


@dataclass
class Site:
    """The busy build, a browser of each kind of visitor, and all that can be asked."""

    clients: dict[str, Client]
    addresses: list[tuple[str, dict[str, Any]]]
    ids: dict[str, list[Any]]
    asked: dict[str, Asked]
    batch: dict[str, Any]


@pytest.fixture
def site(busy, outsider, monkeypatch) -> Site:
    monkeypatch.setattr("buildlog.views.entries.PACE.allows", lambda *_: True)
    start_stint(busy.people.get(name="Noor"), segment=busy.segments.get(code="R2-1"), at=timezone.now())
    device = give_device(busy, "Fuzzed tablet")
    clients = {"nobody": Client()}
    for name in WHO[:3]:
        clients[name] = client_of(busy.people.get(name=name), device, raise_request_exception=True)
    clients["Pia"] = client_of(outsider)
    addresses = sorted(routes(), key=lambda each: each[0])
    made = Site(clients, addresses, _complete(_ids(busy, outsider.build), addresses), {}, _batch(busy, device))
    for route, converters in made.addresses:
        made.asked[route] = _learned(made, route, converters)
    _add_forms(made)
    return made


def _complete(ids: dict[str, list[Any]], addresses: list[tuple[str, dict[str, Any]]]) -> dict[str, list[Any]]:
    """With something of its kind for each part of an address that was not thought of here."""
    others = {"IntConverter": [1, "9" * 19], "UUIDConverter": [uuid.UUID(int=7)], "SlugConverter": ["x"]}
    parts = {name: converter for _, converters in addresses for name, converter in converters.items()}
    return {name: others[type(converter).__name__] for name, converter in parts.items() if name not in ids} | ids


def _ids(build: Build, other: Build) -> dict[str, list[Any]]:
    """What can stand in an address: of this build, of the other one, of none."""
    people, questions = build.people.values_list("pk", flat=True), build.questions.values_list("pk", flat=True)
    strangers = other.people.values_list("pk", flat=True)
    loads = ("crew", "availability", "stints", "jobs", "stock")
    odd = ["0", "9" * 19, "9" * 5000]
    ids = {
        "code": ["SHED", "LOFT", "shed", "GONE"], "pk": [*questions, *people, *strangers, *odd],
        "who": [*people, *strangers, *odd], "shift": [build.people.get(name="Marek").shifts.first().pk, *odd],
        "pattern": odd, "record": [*build.records.values_list("pk", flat=True), *odd],
        "kind": [*loads, *PLAN_TABLES, *DeviceEntryKind, "x"],
        "importing": [uuid.UUID(int=7)],
        "end": ["csv", "xlsx", "exe"], "segment": ["R1-1", "R4-1", "R99-1", "R" + "9" * 400],
        "label": [build.segments.first().label, "ZZZZZ"],
        "note": [build.notes.get().pk], "stint": list(build.stints.values_list("pk", flat=True)),
        "device": list(build.devices.values_list("pk", flat=True)),
    }  # fmt: skip
    return {name: [*values, uuid.UUID(int=7)] if name in ("note", "stint", "device") else values
            for name, values in ids.items()}  # fmt: skip


def _learned(site: Site, route: str, converters: dict[str, Any]) -> Asked:
    asked = Asked()
    for place in range(3):
        values = {name: site.ids[name][min(place, len(site.ids[name]) - 1) if name != "code" else 0]
                  for name in converters}  # fmt: skip
        with _rolled_back():
            more = learn(
                site.clients["Ilse" if "sign-in" not in route else "nobody"], filled(route, converters, values)
            )
        for mine, its in ((asked.query, more.query), (asked.posted, more.posted), (asked.files, more.files)):
            mine |= its
    return asked


def _add_forms(site: Site) -> None:
    """Forms on the pages of the lead and of a helper, each kept with the address that it goes to."""
    for route, converters in site.addresses:
        values = {name: site.ids[name][0] for name in converters}
        address = filled(route, converters, values)
        for who in ("Ilse", "Marek"):
            with _rolled_back():
                answer = site.clients[who].get(address)
            if answer.status_code == 200 and answer.get("Content-Type", "").startswith("text/html"):
                for action, _, fields in forms_of(answer.content.decode()):
                    goes_to = resolve((action or address).split("?")[0]).route
                    if fields not in site.asked[goes_to].forms:
                        site.asked[goes_to].forms.append(fields)


def _batch(build: Build, device: tuple[Any, str]) -> dict[str, Any]:
    """What a tablet sends: an entry of each kind."""
    tablet, helper, now = Tablet(*device), build.people.get(name="Marek"), timezone.now()
    word, stint = tablet.word_of(helper, now - timedelta(hours=1)), str(uuid.UUID(int=99))
    said = [
        ("stint-start", {"stint": stint, "stage": "mount", "segment": "R2-1", "with": []}),
        ("tick", {"segment": "R2-1", "stage": "populate", "pixels": 3, "stint": stint}),
        ("stint-stop", {"stint": stint}), ("note", {"segment": "R1-1", "says": "Torn."}),
        ("undo", {"undoes": str(build.entries.first().pk)}),
    ]  # fmt: skip
    return tablet.batch([tablet.entry(kind, word, now, **data) for kind, data in said], now)


@contextmanager
def _rolled_back() -> Iterator[None]:
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


# ---- one request ----------------------------------------------------------------------------


@st.composite
def requests(draw: Any, site: Site) -> tuple[str, str, str, Fields, dict[str, Any]]:
    """Who asks what by which method, the fields sent, and what else travels along."""
    route, converters = draw(st.sampled_from(site.addresses))
    values = {name: draw(st.sampled_from(site.ids[name][:1] * 4 + site.ids[name] if name == "code" else site.ids[name]))
              for name in converters}  # fmt: skip
    try:
        address = filled(route, converters, values)
    except NoReverseMatch:
        address = "/" + route.replace("<", "").replace(">", "")
    who = draw(st.sampled_from(("Ilse",) * 4 + WHO))
    method = draw(st.sampled_from(("GET", "POST") * 5 + METHODS))
    asked = site.asked[route]
    fields = dict(draw(st.sampled_from(asked.forms))) if asked.forms and draw(st.integers(0, 5)) else {}
    sent = {name: [draw(st.sampled_from(offered[:1] * 3 + offered))] for name, offered in fields.items() if offered}
    names = sorted(asked.query | asked.posted | set(fields)) or ["next"]
    for _ in range(draw(st.integers(0, 3))):
        sent[draw(st.sampled_from(names))] = draw(
            st.lists(_value(), max_size=2) | st.lists(_value(), min_size=1, max_size=1)
        )
    more: dict[str, Any] = {}
    if draw(st.integers(0, 3)) == 0:
        more["HTTP_HX_REQUEST"] = "true"
    if asked.files and draw(st.booleans()):
        more["file"] = (
            draw(st.sampled_from(sorted(asked.files))),
            draw(st.sampled_from(FILES) | st.binary(max_size=200)),
        )
    if route.endswith("entries/"):
        more["json"] = draw(_bent(site.batch))
    return who, method, address, sent, more


def _value() -> st.SearchStrategy[str]:
    return st.sampled_from(ODD) | st.text(max_size=30) | st.integers(-(10**20), 10**20).map(str)


@st.composite
def _bent(draw: Any, fine: Any) -> Any:
    """A JSON document in which one thing, however deep, is another."""
    if draw(st.integers(0, 3)) == 0 or not fine or not isinstance(fine, dict | list):
        return draw(st.sampled_from(JSONS))
    bent = json.loads(json.dumps(fine))
    place = draw(st.sampled_from(sorted(fine) if isinstance(fine, dict) else range(len(fine))))
    bent[place] = draw(_bent(fine[place]))
    return bent


def ask(site: Site, request: tuple[str, str, str, Fields, dict[str, Any]]) -> int:
    """Send it, take the whole answer, undo it; the status."""
    who, method, address, sent, more = request
    more = dict(more)
    client = site.clients[who]
    cookies = client.cookies.copy()
    with _rolled_back():
        if "json" in more:
            answer = client.post(address, json.dumps(more["json"]), content_type="application/json")
        elif method == "POST":
            name, content = more.pop("file", ("", b""))
            files = {name: SimpleUploadedFile("table.csv", content)} if name else {}
            answer = client.post(
                address, {n: [_sendable(v) for v in values] for n, values in sent.items()} | files, **more
            )
        else:
            more.pop("file", None)
            query = {n: [_sendable(v) for v in values] for n, values in sent.items()}
            answer = getattr(client, method.lower())(address, **({"query_params": query} if query else {}), **more)
        if answer.streaming:
            b"".join(answer.streaming_content)
    client.cookies = cookies
    return answer.status_code


def _sendable(text: str) -> str:
    return text.encode("utf-8", "replace").decode()


# ---- the tests ------------------------------------------------------------------------------


def fuzz(site: Site, examples: int, **how: Any) -> None:
    @given(st.data())
    @settings(
        max_examples=examples, deadline=None, database=None, print_blob=True,
        suppress_health_check=list(HealthCheck), phases=(Phase.generate, Phase.shrink), **how,
    )  # fmt: skip
    def never_a_500(data: Any) -> None:
        request = data.draw(requests(site))
        assert ask(site, request) < 500, request

    never_a_500()


def test_no_request_breaks_the_site(site):
    """Some twenty seconds on two cores."""
    assert len(site.asked) == len(list(routes()))
    assert {"day", "person", "work", "page"} <= site.asked["b/<slug:code>/hours/"].query
    assert {"stint", "name", "work", "start", "end", "break_min"} <= site.asked["b/<slug:code>/hours/enter/"].posted
    assert site.asked["b/<slug:code>/load/<slug:kind>/"].files == {"file"}
    assert sum(len(asked.forms) for asked in site.asked.values()) > 40
    fuzz(site, 600, derandomize=True)


@pytest.mark.long
def test_no_request_breaks_the_site_long(site):
    """About ten minutes on two cores."""
    fuzz(site, 12_000)
