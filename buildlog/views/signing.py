"""Signing in and out on the browser that asks: the session of the browser and the sign-in on file go together."""

from __future__ import annotations

from django.contrib.auth import login, logout
from django.contrib.auth.models import User
from django.http import HttpRequest
from django.utils import timezone

from buildlog.access import SIGN_IN_KEY, hold_person
from buildlog.actions import sign_ins
from buildlog.models import Device, Person, SignIn

BROWSERS = (("Edg", "Edge"), ("OPR", "Opera"), ("Firefox", "Firefox"), ("Chrom", "Chrome"), ("Safari", "Safari"))
SYSTEMS = ("Android", "iPhone", "iPad", "Windows", "Macintosh", "CrOS", "Linux")
SYSTEM_WORDS = {"Macintosh": "Mac", "CrOS": "Chromebook"}


def enter_with_pin(request: HttpRequest, person: Person, device: Device) -> None:
    """This person is signed in on this tablet; whoever was there before is not any more."""
    end_here(request)
    hold_person(request, person, device)
    _begin(request, person, device.name, device)


def enter_with_password(request: HttpRequest, user: User) -> None:
    end_here(request)
    login(request, user)
    _begin(request, user, browser_of(request))


def end_here(request: HttpRequest) -> None:
    """Nobody is signed in on this browser any more."""
    if here := request.session.get(SIGN_IN_KEY):
        sign_ins.end(which=SignIn.objects.filter(pk=here), now=timezone.now())
    logout(request)


def _begin(request: HttpRequest, owner: User | Person, name: str, device: Device | None = None) -> None:
    if not request.session.session_key:
        request.session.create()
    sign_in = sign_ins.begin(
        owner=owner, name=name, session_key=str(request.session.session_key), now=timezone.now(), device=device
    )
    request.session[SIGN_IN_KEY] = str(sign_in.pk)


def browser_of(request: HttpRequest) -> str:
    """What a person knows the browser by, as far as it says: "Firefox on Windows"."""
    says = request.headers.get("User-Agent", "")
    browser = next((word for sign, word in BROWSERS if sign in says), "Browser")
    system = next((sign for sign in SYSTEMS if sign in says), "")
    return f"{browser} on {SYSTEM_WORDS.get(system, system)}" if system else browser
