"""Who may see and do what. Every view carries one of these marks; a test walks all addresses and reads it.

A view under `/b/<code>/` is called with `request.build` and `request.person` set. Whose build it is not gets a plain
"not found", whose role is too small "forbidden", and who is not signed in goes to the build's sign-in page.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.contrib.auth.models import AnonymousUser, User
from django.core import signing
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django_htmx.middleware import HtmxDetails

from buildlog.models import Build, Device, Person, prepared_sql

SESSION_KEY = "person"  # what held_by() says: one person a browser at a time
SIGN_IN_KEY = "sign_in"  # which of the sign-ins on file this browser is
COOKIE = "device-"  # and the build's code
DEVICE_COOKIES = (COOKIE, f"__Host-{COOKIE}")
COOKIE_AGE_S = 400 * 24 * 3600  # the longest that browsers keep a cookie

LONGEST_WAY_BACK = 2000  # characters of an address; none of ours is near

# Signed: this browser's number, and the names that signed in on it with a password.
KNOWN_COOKIE = f"{settings.COOKIE_PREFIX}known"
MOST_NAMES = 8

View = Callable[..., HttpResponseBase]


class DeviceRequest(HttpRequest):
    """What a view for devices is called with."""

    build: Build
    device: Device


class PageRequest(HttpRequest):
    """What every view is called with: htmx's own words are in it."""

    htmx: HtmxDetails


class BuildRequest(PageRequest):
    """What a view under a build is called with: which build, and who asks."""

    build: Build
    person: Person


class VisitorRequest(PageRequest):
    """What a view for everybody has put together: which build, and who is there, if anybody is."""

    build: Build
    person: Person | None


EVERYBODY = frozenset(Person.Role.values)
CREW = frozenset({Person.Role.LEAD, Person.Role.HELPER})
LEADS = frozenset({Person.Role.LEAD})


def person_at(request: HttpRequest, build: Build) -> Person | None:
    """Who is using this browser on this build: by account (leads) or by PIN (helpers and viewers)."""
    if request.user.is_authenticated:
        return build.people.active().filter(user=request.user).first()
    held = request.session.get(SESSION_KEY)
    if not held or held["build"] != build.code:
        return None
    trusted = Device.objects.trusted().filter(pk=held["device"], build=build)
    return (
        build.people.active()
        .filter(pk=held["id"], pin_version=held["pin"], build__devices__in=trusted)
        .exclude(role=Person.Role.LEAD)
        .first()
    )


def hold_person(request: HttpRequest, person: Person, device: Device) -> None:
    """Sign somebody in by PIN on this browser; whoever was there before is signed out."""
    request.session.flush()
    request.session[SESSION_KEY] = held_by(person, device)


def held_by(person: Person, device: Device) -> dict[str, Any]:
    """What the session keeps: a new PIN or a revoked device ends it."""
    return {"build": person.build.code, "id": person.pk, "pin": person.pin_version, "device": str(device.pk)}


def device_at(request: HttpRequest, build: Build) -> Device | None:
    """The device of this build that the browser proves to be, or None."""
    key = _device_key(request, build.code)
    return build.devices.trusted().filter(key_digest=digest(key)).first() if key else None


def remember_device(response: HttpResponse, build: Build, key: str) -> None:
    response.set_cookie(
        device_cookie(build),
        key,
        max_age=COOKIE_AGE_S,
        httponly=True,
        samesite="Lax",
        secure=settings.SESSION_COOKIE_SECURE,
    )


def device_cookie(build: Build) -> str:
    """A browser can have joined several builds: a cookie for each."""
    return cookie_of(build.code)


def cookie_of(code: str) -> str:
    return f"{settings.COOKIE_PREFIX}{COOKIE}{code}"


def _device_key(request: HttpRequest, code: str) -> str:
    """A device that joined before cookies had a prefix on https has one without."""
    return request.COOKIES.get(cookie_of(code)) or request.COOKIES.get(f"{COOKIE}{code}", "")


def known_browser(request: HttpRequest, username: str) -> str:
    """The number of a browser on which this name signed in before; "" for any other."""
    number, names = _known(request)
    return number if _name_mark(username) in names else ""


def remember_browser(request: HttpRequest, response: HttpResponse, username: str) -> None:
    """This name signed in here: guesses made elsewhere lock it out elsewhere only."""
    number, names = _known(request)
    names = [_name_mark(username), *(name for name in names if name != _name_mark(username))][:MOST_NAMES]
    response.set_cookie(
        KNOWN_COOKIE, signing.dumps([number, names], salt=KNOWN_COOKIE), max_age=COOKIE_AGE_S, httponly=True,
        samesite="Lax", secure=settings.SESSION_COOKIE_SECURE,
    )  # fmt: skip


def _known(request: HttpRequest) -> tuple[str, list[str]]:
    try:
        number, names = signing.loads(request.COOKIES.get(KNOWN_COOKIE, ""), salt=KNOWN_COOKIE)
    except signing.BadSignature:
        return uuid4().hex, []
    return number, names


def _name_mark(username: str) -> str:
    return digest(username.strip().lower())[:16]


def builds_joined(request: HttpRequest) -> list[Build]:
    """The builds that this browser is a trusted device of."""
    keys = [digest(key) for name, key in request.COOKIES.items() if name.startswith(DEVICE_COOKIES)]
    trusted = Device.objects.trusted().filter(key_digest__in=keys)
    return list(Build.objects.filter(devices__in=trusted).distinct())


def digest(secret: str) -> str:
    """What the database keeps of a long random secret."""
    return hashlib.sha256(secret.encode()).hexdigest()


def _marked(view: View, mark: str) -> View:
    view.__dict__["access"] = mark  # for the test that walks all addresses
    return view


def _for_roles(roles: frozenset[str], mark: str) -> Callable[[View], View]:
    def gate(view: View) -> View:
        @wraps(view)
        def guarded(request: BuildRequest, code: str, **rest: Any) -> HttpResponseBase:
            request.build = get_object_or_404(Build, code=code)
            person = person_at(request, request.build)
            if person is None:
                return to_sign_in(request, request.build)
            if person.role not in roles:
                raise PermissionDenied(_too_small(person, roles))
            request.person = person
            with timezone.override(request.build.zone):  # pages speak the build's own time
                return view(request, **rest)

        return _marked(guarded, mark)

    return gate


def _too_small(person: Person, roles: frozenset[str]) -> str:
    who = "the lead" if roles == LEADS else "the lead and helpers"
    return f"This is for {who}. You are here as {person.name} ({person.get_role_display().lower()})."


lead_only = _for_roles(LEADS, "lead")
crew_only = _for_roles(CREW, "crew")
member_only = _for_roles(EVERYBODY, "member")


def account_of(request: HttpRequest) -> User:
    """The account that is signed in, behind ``account_only``."""
    if not isinstance(request.user, User):
        raise PermissionDenied("This is for leads who signed in with a password.")
    return request.user


def account_only(view: View) -> View:
    """For leads signed in with a password, whatever the build."""

    @wraps(view)
    def guarded(request: PageRequest, **rest: Any) -> HttpResponseBase:
        if not request.user.is_authenticated:
            return _redirect(request, f"{reverse('sign_in')}?{urlencode({'next': request.get_full_path()})}")
        return view(request, **rest)

    return _marked(guarded, "account")


def may_begin_builds(user: User | AnonymousUser) -> bool:
    """An owner of this installation, and whoever leads a build on it: an account alone is no right to fill the site."""
    if not user.is_authenticated:
        return False
    leads = Person.objects.active().filter(user=user, role=Person.Role.LEAD)
    return user.is_superuser or leads.exists()


def builder_only(view: View) -> View:
    """For accounts that may begin a build."""

    @wraps(view)
    def guarded(request: BuildRequest, **rest: Any) -> HttpResponseBase:
        if not may_begin_builds(request.user):
            raise PermissionDenied("Only the owner of this site and leads of a build on it can create a build.")
        return view(request, **rest)

    return _marked(account_only(guarded), "builder")


def device_only(view: View) -> View:
    """For a device that joined, whoever holds it and signed in or not. ``request.device`` may have been revoked since:
    what it still sends is answered, and refused, one by one.
    """

    @wraps(view)
    def guarded(request: DeviceRequest, code: str, **rest: Any) -> HttpResponseBase:
        build = prepared_sql.build_by_code(code=code)
        key = digest(_device_key(request, code))
        device: Device | None = prepared_sql.device_by_key(key_digest=key) if build else None
        if build is None or device is None or device.build_id != build.pk:
            return JsonResponse({"problem": "This device has not joined the build: let it join first."}, status=401)
        device.build = build
        request.build, request.device = build, device
        return view(request, **rest)

    return _marked(guarded, "device")


def anybody(view: View) -> View:
    """For everybody, signed in or not."""
    return _marked(view, "anybody")


def to_sign_in(request: PageRequest, build: Build) -> HttpResponse:
    back = request.get_full_path() if request.method == "GET" and not request.htmx else ""
    if len(back) > LONGEST_WAY_BACK:
        back = ""
    address = reverse("join", args=[build.code])
    return _redirect(request, f"{address}?{urlencode({'next': back})}" if back else address)


def _redirect(request: PageRequest, address: str) -> HttpResponse:
    """An htmx request is told to load the page whole: a redirect would land inside the fragment's place."""
    if request.htmx:
        return HttpResponse(status=204, headers={"HX-Redirect": address})
    return HttpResponseRedirect(address)
