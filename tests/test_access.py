"""Every address of the app, with each role and with none: who gets in, who is sent to sign in, who is refused."""

from __future__ import annotations

import uuid
from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from buildlog.actions import crew
from tests.people import begin_build, client_of, give_device, join_crew

pytestmark = pytest.mark.screen

ROLES = ("viewer", "helper", "lead")
MAY = {"member": set(ROLES), "crew": {"helper", "lead"}, "lead": {"lead"}}
# What stands for each kind of argument; the row it names need not exist, because access is asked first.
ARGUMENTS = {
    "code": "SHED", "segment": "R1-1", "kind": "crew", "label": "ABCDE", "pk": 1, "shift": 1, "pattern": 1, "record": 1,
    "end": "csv", "who": 1,
    "stint": uuid.UUID(int=1), "device": uuid.UUID(int=1), "note": uuid.UUID(int=1),
    "importing": uuid.UUID(int=1), "entry": uuid.UUID(int=1),
}  # fmt: skip


def patterns(resolver: URLResolver | None = None) -> Iterator[URLPattern]:
    for each in (resolver or get_resolver()).url_patterns:
        if isinstance(each, URLResolver):
            yield from patterns(each)
        else:
            yield each


NAMED = {pattern.name: pattern for pattern in patterns() if pattern.name}
OF_BUILD = sorted(name for name, pattern in NAMED.items() if getattr(pattern.callback, "access", "") in MAY)


def address(name: str, code: str = "SHED") -> str:
    wanted = _converters(name)
    return reverse(name, kwargs={key: code if key == "code" else ARGUMENTS[key] for key in wanted})


def _converters(name: str) -> set[str]:
    possibilities = get_resolver().reverse_dict.getlist(name)
    return set(possibilities[0][0][0][1])


def test_every_address_says_who_may_come_in():
    bare = [name for name, pattern in NAMED.items() if not hasattr(pattern.callback, "access")]
    assert bare == [], "give each view a mark of buildlog/access.py"


def test_an_address_without_a_name_is_another_spelling_of_one_with_a_name():
    named = {pattern.callback for pattern in NAMED.values()}
    assert all(pattern.callback in named for pattern in patterns())


@pytest.mark.django_db
@pytest.mark.parametrize("name", OF_BUILD)
def test_a_screen_of_a_build_lets_in_its_people_and_nobody_else(name, shed, lead, helper, viewer, outsider):
    allowed = MAY[NAMED[name].callback.access]
    people = {"lead": lead, "helper": helper, "viewer": viewer}
    for role in ROLES:
        for method in ("get", "post"):
            answer = getattr(client_of(people[role]), method)(address(name))
            if role in allowed:
                assert answer.status_code not in (401, 403), f"{role} {method} is kept out"
            else:
                assert answer.status_code == 403, f"{role} {method} gets {answer.status_code}"
    for stranger in (Client(), client_of(outsider)):
        for method in ("get", "post"):
            answer = getattr(stranger, method)(address(name))
            assert answer.status_code == 302 and "/join/" in answer["Location"], f"a stranger's {method} gets in"


@pytest.mark.django_db
@pytest.mark.parametrize("name", OF_BUILD)
def test_a_build_that_does_not_exist_is_not_found(name, lead):
    assert client_of(lead).get(address(name, "NOWHERE")).status_code == 404


@pytest.mark.django_db
@pytest.mark.parametrize("name", OF_BUILD)
def test_a_post_without_the_forms_token_changes_nothing(name, lead):
    if getattr(NAMED[name].callback, "csrf_exempt", False):
        pytest.skip("authenticates by other means")
    strict = client_of(lead, enforce_csrf_checks=True)
    assert strict.post(address(name)).status_code == 403


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["home", "join", "switch_person", "enter", "sign_in", "first_run", "label"])
def test_what_depends_on_who_asks_is_kept_by_no_cache(name, shed, helper):
    at = address(name).replace("/1/", f"/{helper.pk}/")
    for client in (Client(), client_of(helper)):
        answer = client.get(at)
        assert "no-store" in answer["Cache-Control"], f"{name} {answer.status_code}"


@pytest.mark.django_db
def test_helpers_of_another_build_are_strangers(shed):
    elsewhere = begin_build("ATTIC")
    other = join_crew(elsewhere, "Una")
    answer = client_of(other, give_device(elsewhere)).get(reverse("sphere", args=["SHED"]))
    assert answer.status_code == 302


@pytest.mark.django_db
def test_an_htmx_request_is_told_to_load_the_sign_in_page_whole(shed):
    answer = Client().get(reverse("sphere", args=["SHED"]), HTTP_HX_REQUEST="true")
    assert answer.status_code == 204 and "/join/" in answer["HX-Redirect"]


@pytest.mark.django_db
def test_who_left_the_crew_is_out_at_once(shed, lead, helper):
    client = client_of(helper)
    assert client.get(reverse("sphere", args=["SHED"])).status_code == 200
    crew.leave(person=helper, by=lead, now=shed.created_at)
    assert client.get(reverse("sphere", args=["SHED"])).status_code == 302
