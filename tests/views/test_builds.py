"""Beginning a build, and settling what belongs to it."""

from datetime import UTC, datetime

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from buildlog.actions import crew
from buildlog.actions.sign_in import give_account
from buildlog.core.forecast.input import MOST_HANDS
from buildlog.models import Build
from tests.pages import text
from tests.people import PASSWORD, account

NEW = {"name": "Heron pond", "code": "POND", "place": "Boat shed", "time_zone": "Europe/Oslo", "units": "metric"}
STAGES = ("populate", "mount", "wire", "test")
SETTINGS = {
    "name": "Shed of SHED", "place": "Shed 9", "time_zone": "Europe/Oslo", "units": "imperial", "rest_min": "15",
    "target_date": "2026-04-01", "target_time": "17:30", "people_wire": "2", "people_test": "1", "hands_mount": "2",
    "hands_populate": "1", "rate_populate": "380", "rate_mount": "300", "rate_wire": "5.5", "rate_test": "12",
}  # fmt: skip


@pytest.fixture
def ada(db):
    client = Client()
    client.force_login(account("Ada", owner=True))
    return client


@pytest.fixture
def ilse(lead, sign_in):
    return sign_in(lead)


@pytest.fixture
def settings_page(shed):
    return reverse("build_settings", args=[shed.code])


def error_at(response, field: str) -> str:
    """What stands beside a field."""
    return text(response).split(f'name="{field}"')[1].split('<div class="field">')[0]


# ---- a new build -----------------------------------------------------------------------------


def test_whoever_begins_a_build_leads_it_and_lands_on_its_plan(ada):
    answer = ada.post(reverse("new_build"), NEW | {"units": "imperial"})
    assert answer["Location"] == reverse("plan", args=["POND"])
    build = Build.objects.get()
    assert (build.name, build.place, build.time_zone, build.units) == (
        "Heron pond",
        "Boat shed",
        "Europe/Oslo",
        "imperial",
    )
    assert build.people.get().is_lead
    assert ada.get(answer["Location"]).status_code == 200


def test_without_a_password_nobody_begins_a_build(db, client, helper, sign_in):
    assert "/sign-in/" in client.get(reverse("new_build"))["Location"]
    assert "/sign-in/" in sign_in(helper).post(reverse("new_build"), NEW)["Location"]
    assert not Build.objects.filter(code="POND").exists()


def test_an_account_without_a_build_begins_none_on_somebody_elses_site(shed, lead, outsider, sign_in):
    crew.leave(person=second_lead_of(outsider), by=outsider, now=shed.created_at)
    gone = Client()
    gone.force_login(User.objects.get(username="Una"))
    assert "Plan a ball" not in text(gone.get("/")) and "ask them to add you" in text(gone.get("/"))
    for name in ("new_build", "unpack"):
        assert gone.get(reverse(name)).status_code == 403
        assert gone.post(reverse(name), NEW).status_code == 403
        assert sign_in(lead).get(reverse(name)).status_code == 200, "who leads a build may begin another"
    assert not Build.objects.filter(code="POND").exists()


def second_lead_of(first):
    una = crew.put(build=first.build, name="Una", role="lead", by=first, now=first.build.created_at)
    give_account(person=una, username="Una", password=PASSWORD, by=first, now=first.build.created_at)
    return una


def test_time_zones_are_offered_and_the_last_one_is_taken_over(ada):
    assert '<option value="Europe/Lisbon">' in text(ada.get(reverse("new_build")))
    ada.post(reverse("new_build"), NEW)
    assert 'name="time_zone" value="Europe/Oslo"' in text(ada.get(reverse("new_build")))


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("code", "no spaces", "1 to 16 letters"),
        ("code", "", "is empty: fill it in"),
        ("name", "", "is empty: fill it in"),
        ("time_zone", "Middle Earth", "is not a time zone"),
        ("units", "cubits", "cannot be chosen here"),
    ],
)
def test_what_cannot_be_is_said_beside_the_field_and_stays_typed(ada, field, typed, words):
    answer = ada.post(reverse("new_build"), NEW | {field: typed})
    assert answer.status_code == 422
    assert words in text(answer)
    assert f'value="{typed}"' in text(answer) or field == "units" or not typed
    assert not Build.objects.exists()


def test_a_code_is_there_only_once_in_any_letters(ada):
    ada.post(reverse("new_build"), NEW)
    answer = ada.post(reverse("new_build"), NEW | {"code": "pond"})
    assert "There is a build" in error_at(answer, "code")


def test_an_empty_form_comes_back_with_its_faults(ada):
    assert error_at(ada.post(reverse("new_build")), "code") and not Build.objects.exists()


def test_a_time_zone_may_be_typed_in_small_letters(ada):
    ada.post(reverse("new_build"), NEW | {"time_zone": "america/new york"})
    assert Build.objects.get().time_zone == "America/New_York"


# ---- settings --------------------------------------------------------------------------------


def test_settings_are_kept_and_the_change_is_on_record(shed, ilse, settings_page):
    answer = ilse.post(settings_page, SETTINGS)
    assert answer["Location"] == settings_page
    shed.refresh_from_db()
    assert shed.target_at == datetime(2026, 4, 1, 15, 30, tzinfo=UTC)  # Oslo is two hours ahead after 29 March 2026
    assert shed.people_limits == {"wire": 2, "test": 1}
    assert shed.hands == {"mount": 2}
    assert shed.standard_rates == {"populate": 380, "mount": 300, "wire": 5.5, "test": 12}
    assert (shed.units, shed.rest_min) == ("imperial", 15)
    assert "standard_rates" in shed.records.first().says


def test_what_was_settled_is_shown_again(shed, ilse, settings_page):
    ilse.post(settings_page, SETTINGS)
    page = text(ilse.get(settings_page))
    for name, value in SETTINGS.items():
        if name not in ("units", "target_time", "hands_populate"):
            assert f'value="{value}"' in page or f'value="{value}.0"' in page, name
    assert 'value="17:30' in page


def test_without_a_date_there_is_no_target(shed, ilse, settings_page):
    ilse.post(settings_page, SETTINGS | {"target_date": "", "target_time": ""})
    shed.refresh_from_db()
    assert shed.target_at is None


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("time_zone", "Nowhere", "is not a time zone"),
        ("rest_min", "90", "90 is too much: 60 is the most"),
        ("people_wire", "0", "0 is too little: 1 is the least"),
        ("hands_mount", "many", "whole number"),
        ("rate_wire", "-1", "is too little"),
        ("target_date", "", "needs its day"),
        ("name", "", "is empty: fill it in"),
    ],
)
def test_a_wrong_setting_is_said_beside_its_field_and_nothing_is_kept(shed, ilse, settings_page, field, typed, words):
    answer = ilse.post(settings_page, SETTINGS | {field: typed})
    assert answer.status_code == 422
    assert words in error_at(answer, field)
    shed.refresh_from_db()
    assert shed.units == "metric"


def test_a_target_that_the_clocks_skip_is_refused(ilse, settings_page):
    # Europe goes from 02:00 to 03:00 on the last Sunday of March (EU directive 2000/84/EC): 02:30 is not there.
    answer = ilse.post(settings_page, SETTINGS | {"target_date": "2026-03-29", "target_time": "02:30"})
    assert answer.status_code == 422
    assert "does not exist" in error_at(answer, "target_time")


def test_only_the_lead_settles(helper, viewer, sign_in, settings_page):
    for person in (helper, viewer):
        assert sign_in(person).get(settings_page).status_code == 403


def test_settings_ask_a_fixed_number_of_queries(ilse, settings_page, django_assert_num_queries):
    with django_assert_num_queries(4):  # session, account, build, person
        ilse.get(settings_page)


# ---- all that is wrong is said at once ---------------------------------------------------------


def test_a_taken_code_is_said_together_with_what_else_is_wrong(ada, shed):
    answer = ada.post(reverse("new_build"), NEW | {"code": "shed", "time_zone": "Moon", "name": ""})
    assert answer.status_code == 422
    assert "choose another code" in error_at(answer, "code") and "not a time zone" in error_at(answer, "time_zone")
    assert "is empty" in error_at(answer, "name")


@pytest.mark.parametrize(("hands", "people", "refused"), [("3", "2", True), ("2", "2", False), ("3", "", False)])
def test_more_hands_than_fit_are_refused_by_the_settings(ilse, settings_page, hands, people, refused):
    answer = ilse.post(settings_page, SETTINGS | {"hands_mount": hands, "people_mount": people})
    assert answer.status_code == (422 if refused else 302)
    if refused:
        says = "One piece needs 3 to mount, and only 2 may be there: it could never be done. Change one of the two."
        assert says in error_at(answer, "people_mount")


def test_more_hands_than_a_forecast_can_play_are_refused_by_the_settings(ilse, settings_page):
    answer = ilse.post(settings_page, SETTINGS | {"hands_mount": str(MOST_HANDS + 1)})
    assert answer.status_code == 422 and str(MOST_HANDS) in error_at(answer, "hands_mount")
