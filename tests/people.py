"""The people that tests speak of, and the small ball they build.

Shed 9 is led by Ilse; Marek and Noor hang pixels, Otis looks on. Pia leads a build of her own next door and has no
business at this one. Every name is a fixture; so is ``shed``, the build, and ``sign_in``, which gives a client.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from itertools import groupby

import pytest
from django.apps import apps
from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Model
from django.test import Client
from django.utils import timezone

from buildlog import access
from buildlog.actions import assign, builds, crew, plans, sign_ins, stints, ticks
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.work.stages import Stage, order_of
from buildlog.models import Build, Device, Person, Segment, Stint

MONDAY = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)  # 10:00 in the shed; no clock change near
ZONE = "Europe/Oslo"
PASSWORD = "barn-owl-4711"
# 13 segments on 5 rings, 254 pixels on 4 channels; ring 5 closes the way in.
BALL = PlanParameters(
    diameter_m=1.0, pitch_m=0.05, rings_count=5, top_deg=40, bottom_deg=40, ribs=6, max_segment=25, capacity=70,
    outputs=8, closing_rings=(5, 5),
)  # fmt: skip

SignIn = Callable[..., Client]


def account(name: str, owner: bool = False) -> User:
    make = get_user_model().objects.create_superuser if owner else get_user_model().objects.create_user
    return make(username=name, password=PASSWORD)


def begin_build(code: str = "SHED", lead: User | None = None, *, ball: PlanParameters = BALL, now=MONDAY) -> Build:
    """A build with a frozen plan, through the acts that people use."""
    build = builds.begin(code=code, name=f"Shed of {code}", time_zone=ZONE, now=now, lead=lead)
    plans.save(build=build, parameters=ball, by=None, now=now)
    plans.freeze(build=build, by=None, now=now)
    return build


def join_crew(build: Build, name: str, **what) -> Person:
    return crew.put(build=build, name=name, by=None, now=MONDAY, **what)


def give_device(build: Build, name: str = "Tablet 1") -> tuple[Device, str]:
    """A tablet of the build and the key that its cookie holds."""
    key = uuid.uuid4().hex
    device = Device.objects.create(
        build=build, name=name, key_digest=access.digest(key), enrolled_at=MONDAY, last_seen_at=MONDAY
    )
    return device, key


def client_of(person: Person, device: tuple[Device, str] | None = None, **options) -> Client:
    """A browser in which this person is signed in: a lead by account, everybody else on a tablet that joined."""
    client = Client(**options)
    held, key = device or (None, None)
    if person.is_lead:
        client.force_login(person.user)
        session, whose = client.session, {"owner": person.user, "name": "Firefox on Linux"}
    else:
        held, key = device or give_device(person.build, f"Tablet of {person.name}")
        session, whose = client.session, {"owner": person, "name": held.name, "device": held}
        session[access.SESSION_KEY] = access.held_by(person, held)
    sign_in = sign_ins.begin(**whose, session_key=session.session_key, now=timezone.now())
    session[access.SIGN_IN_KEY] = str(sign_in.pk)
    session.save()
    if held is not None:
        client.cookies[access.device_cookie(person.build)] = key
    return client


def work_through(segment: Segment, until: Stage, *, by: Person, at: datetime = MONDAY, pixels: int | None = None):
    """Tick the segment through every stage up to and with ``until``."""
    order = order_of(segment.closing)
    for stage in order[: order.index(until) + 1]:
        ticks.tick(
            build=segment.build, actor=by, entry_id=uuid.uuid4(), segment_code=segment.code, stage=stage,
            pixels=pixels or segment.pixels, moment=ticks.Moment.now(at),
        )  # fmt: skip
    segment.refresh_from_db()


def start_stint(*people: Person, segment: Segment, stage: Stage = Stage.POPULATE, at: datetime = MONDAY) -> Stint:
    work = stints.Work(stage=stage, segment=segment)
    return stints.start(build=segment.build, stint_id=uuid.uuid4(), people=people, work=work, at=at)


def give(build: Build, person: Person | None, *codes: str) -> None:
    assign.assign(build=build, codes=codes, to=person, by=None, now=MONDAY)


def hours_after(hours: float) -> datetime:
    return MONDAY + timedelta(hours=hours)


# ---- the same as fixtures -------------------------------------------------------------------


@pytest.fixture(scope="session")
def shed_rows(django_db_setup, django_db_blocker) -> list[Model]:
    """What the acts that begin the shed write: done once, before any test has put something else in their place."""
    with django_db_blocker.unblock(), transaction.atomic():
        begin_build("SHED", account("Ilse"))
        rows = every_row()
        transaction.set_rollback(True)
    return rows


@pytest.fixture
def shed(db, shed_rows) -> Build:
    """Begun by the acts that people use; where nothing else is there yet, by putting in the rows that they wrote."""
    if Build.objects.exists() or get_user_model().objects.exists():
        return begin_build("SHED", account("Ilse"))
    with transaction.atomic():  # keys are compared at the end: no table has to come before another
        for model, rows in groupby(shed_rows, type):
            model._base_manager.bulk_create(rows)
    return Build.objects.get(code="SHED")


def every_row() -> list[Model]:
    """All that is in the tables of this app, and the accounts."""
    models = [*apps.get_app_config("buildlog").get_models(include_auto_created=True), get_user_model()]
    return [row for model in models for row in model._base_manager.all()]


@pytest.fixture
def server_clock(monkeypatch) -> Callable[[datetime], None]:
    """Holds the server's clock still: `server_clock(moment)`. Only for what is asked of an address: there nobody can
    hand over the time, the view itself reads the clock, once. Everything behind the views is given the time."""
    at = [MONDAY]
    monkeypatch.setattr("django.utils.timezone.now", lambda: at[0])
    return lambda moment: at.__setitem__(0, moment)


@pytest.fixture
def lead(shed: Build) -> Person:
    return shed.people.get(name="Ilse")


@pytest.fixture
def helper(shed: Build) -> Person:
    return join_crew(shed, "Marek")


@pytest.fixture
def other_helper(shed: Build) -> Person:
    return join_crew(shed, "Noor")


@pytest.fixture
def viewer(shed: Build) -> Person:
    return join_crew(shed, "Otis", role=Person.Role.VIEWER)


@pytest.fixture
def outsider(db) -> Person:
    """Leads another build; to this one she is a stranger."""
    return begin_build("LOFT", account("Pia")).people.get(name="Pia")


@pytest.fixture
def sign_in() -> SignIn:
    return client_of
