"""The Crew screen."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from buildlog.actions import crew
from buildlog.actions.loads import load_crew
from buildlog.actions.sign_in import give_account, issue_pin, try_pin
from buildlog.core.errors import Refused
from buildlog.core.work.rows import CrewRow, Reading
from buildlog.models import PinTry
from tests.pages import text
from tests.people import MONDAY, give_device, hours_after

PERSON = {"name": "Una", "initials": "UN", "role": "helper", "skills": ["mount"], "populate_limit_h": "2"}


@pytest.fixture
def at_lead(lead, sign_in):
    return sign_in(lead)


def test_the_lead_adds_somebody_and_gives_them_hours(shed, at_lead):
    answer = at_lead.post(reverse("crew_add", args=["SHED"]), PERSON, follow=True)
    una = shed.people.get(name="Una")
    assert (una.skills, una.populate_limit_h) == (["mount"], 2) and "Una is in the crew" in answer.content.decode()
    at_lead.post(
        reverse("crew_shift_add", args=["SHED", una.pk]), {"date": "2026-03-03", "start": "18:00", "end": "01:00"}
    )
    shift = una.shifts.get()
    assert (shift.ends_at - shift.starts_at).total_seconds() == 7 * 3600
    at_lead.post(
        reverse("crew_pattern_add", args=["SHED", una.pk]),
        {"weekday": "5", "from_time": "09:00", "until_time": "12:00"},
    )
    assert una.patterns.get().day_name == "Saturday"


def test_a_second_person_of_the_same_name_is_refused_beside_the_name(shed, at_lead, helper):
    una = shed.people.create(name="Una")
    answer = at_lead.post(reverse("crew_person", args=["SHED", una.pk]), {**PERSON, "name": "Marek"})
    assert answer.status_code == 422 or "Marek is in the crew already" in answer.content.decode()
    assert 'value="Marek"' in answer.content.decode(), "what was typed stays"


def test_a_shift_that_overlaps_another_is_refused_with_what_is_there(shed, at_lead, helper):
    helper.shifts.create(starts_at=MONDAY, ends_at=hours_after(3))
    answer = at_lead.post(
        reverse("crew_shift_add", args=["SHED", helper.pk]), {"date": "2026-03-02", "start": "11:00", "end": "12:00"}
    )
    assert answer.status_code == 422
    assert "Marek is down for Mon 2026-03-02 10:00–13:00 already" in answer.content.decode()


def test_a_shift_that_ends_when_it_starts_is_asked_about(shed, at_lead, helper):
    said = {"date": "2026-03-02", "start": "11:00", "end": "11:00"}
    answer = at_lead.post(reverse("crew_shift_add", args=["SHED", helper.pk]), said)
    assert answer.status_code == 422 and "ends when it starts" in answer.content.decode()


def test_names_that_differ_by_capitals_only_are_refused(shed, at_lead, helper):
    page = at_lead.post(reverse("crew_add", args=["SHED"]), {**PERSON, "name": "marek"}).content.decode()
    assert "Marek is in the crew already" in page


def test_adding_a_name_that_is_there_changes_nobody(shed, at_lead, helper):
    answer = at_lead.post(reverse("crew_add", args=["SHED"]), {**PERSON, "name": "Marek"})
    helper.refresh_from_db()
    assert answer.status_code == 422 and "Marek is in the crew already" in answer.content.decode()
    assert helper.skills == [] and shed.people.filter(name="Marek").count() == 1


@pytest.mark.parametrize("name", ["Marek", "marek"])
def test_a_name_that_is_taken_is_said_together_with_what_the_fields_refuse(shed, at_lead, helper, other_helper, name):
    said = {**PERSON, "name": name, "populate_limit_h": "99"}
    for url in (reverse("crew_add", args=["SHED"]), reverse("crew_person", args=["SHED", other_helper.pk])):
        page = at_lead.post(url, said).content.decode()
        assert "Marek is in the crew already" in page and "24 is the most" in page


def test_a_pin_is_shown_once_and_works_only_as_a_hash(shed, at_lead, helper):
    answer = at_lead.post(reverse("crew_pin", args=["SHED", helper.pk]))
    helper.refresh_from_db()
    pin = answer.context["pin"]
    assert len(pin) == 6 and pin.isdecimal() and pin in answer.content.decode() and pin not in helper.pin


@pytest.fixture
def tablet(shed):
    return give_device(shed, "Yellow tablet")[0]


def type_wrong(person, device, number=5):
    when = timezone.now() - timedelta(minutes=3)
    PinTry.objects.bulk_create(PinTry(person=person, device=device, at=when) for _ in range(number))


def test_the_lead_sees_who_is_locked_and_on_which_tablet(shed, at_lead, helper, tablet, sign_in):
    type_wrong(helper, tablet)
    page = text(at_lead.get(reverse("crew", args=["SHED"])))
    assert "Locked out by wrong PINs" in page
    assert "<strong>Marek</strong>: 5 wrong PINs within 15 minutes, on Yellow tablet." in page
    assert "<strong>Yellow tablet</strong> takes nobody's PIN" in page
    assert "Locked out" not in sign_in(helper).get(reverse("crew", args=["SHED"])).content.decode()


def test_four_wrong_pins_lock_nobody(shed, at_lead, helper, tablet):
    type_wrong(helper, tablet, 4)
    assert "Locked out" not in at_lead.get(reverse("crew", args=["SHED"])).content.decode()


@pytest.mark.parametrize("way_out", ["crew_unlock", "crew_pin"])
def test_unlocking_and_a_new_pin_open_person_and_tablet_at_once(shed, lead, at_lead, helper, tablet, way_out):
    pin = issue_pin(helper, lead, timezone.now())
    type_wrong(helper, tablet)
    answer = at_lead.post(reverse(way_out, args=["SHED", helper.pk]))
    pin = answer.context["pin"] if way_out == "crew_pin" else pin
    try_pin(person=helper, device=tablet, pin=pin, now=timezone.now())
    assert "Locked out" not in at_lead.get(reverse("crew", args=["SHED"])).content.decode()


def test_a_tablet_is_unlocked_from_the_crew_page_too(shed, at_lead, helper, other_helper, tablet):
    for person in (helper, other_helper):
        type_wrong(person, tablet, 3)
    page = at_lead.get(reverse("crew", args=["SHED"])).content.decode()
    assert "of Marek and Noor" in page and "<strong>Marek</strong>" not in page
    back = at_lead.post(reverse("device_unlock", args=["SHED", tablet.pk]), {"next": "/b/SHED/crew/"})
    assert back["Location"] == "/b/SHED/crew/"
    assert "Locked out" not in at_lead.get("/b/SHED/crew/").content.decode()


def test_who_leaves_gives_segments_back_and_can_return(shed, at_lead, helper):
    shed.segments.filter(code="R1-1").update(assigned_to=helper)
    for act, gone in (("crew_leave", True), ("crew_leave", True), ("crew_return", False), ("crew_return", False)):
        at_lead.post(reverse(act, args=["SHED", helper.pk]))
        helper.refresh_from_db()
        assert (helper.left_at is not None) is gone
    assert not helper.segments.exists()
    assert list(shed.records.values_list("verb", flat=True))[:2] == ["person returns", "person leaves"], "one line each"


def test_to_correct_what_is_entered_of_somebody_who_left_does_not_bring_them_back(shed, lead, at_lead, helper):
    crew.leave(person=helper, by=lead, now=MONDAY)
    said = PERSON | {"name": "Marek", "initials": "MK"}
    assert at_lead.post(reverse("crew_person", args=["SHED", helper.pk]), said).status_code == 302
    helper.refresh_from_db()
    assert (helper.initials, helper.left_at) == ("MK", MONDAY)
    page = text(at_lead.get(reverse("crew_person", args=["SHED", helper.pk])))
    assert "Restore to crew" in page and "Remove from crew" not in page


def test_to_add_a_name_that_left_says_how_to_restore_it(shed, lead, at_lead, helper):
    crew.leave(person=helper, by=lead, now=MONDAY)
    answer = at_lead.post(reverse("crew_add", args=["SHED"]), PERSON | {"name": "marek"})
    assert answer.status_code == 422 and "Marek has left the crew: restore them on Crew" in text(answer)


def test_a_file_of_the_crew_brings_nobody_back(shed, lead, helper):
    crew.leave(person=helper, by=lead, now=MONDAY)
    reading = Reading((CrewRow(2, "Marek"),))
    with pytest.raises(Refused, match="row 2, name: Marek has left the crew"):
        load_crew(build=shed, reading=reading, by=lead, now=MONDAY)
    helper.refresh_from_db()
    assert helper.left_at == MONDAY


def test_the_only_lead_cannot_leave(shed, at_lead, lead):
    answer = at_lead.post(reverse("crew_leave", args=["SHED", lead.pk]), follow=True)
    lead.refresh_from_db()
    assert lead.left_at is None and "only lead" in answer.content.decode()


def test_the_only_lead_cannot_become_a_helper(shed, at_lead, lead):
    answer = at_lead.post(reverse("crew_person", args=["SHED", lead.pk]), {**PERSON, "name": "Ilse"})
    lead.refresh_from_db()
    assert lead.is_lead and "only lead" in answer.content.decode()


def test_a_second_lead_gets_an_account_of_their_own(shed, at_lead, django_user_model):
    una = shed.people.create(name="Una", role="lead")
    url = reverse("crew_account", args=["SHED", una.pk])
    assert at_lead.post(url, {"username": "Una", "password": "1234"}).status_code == 422
    assert at_lead.post(url, {"username": "ilse", "password": "barn-owl-4711"}).status_code == 422
    at_lead.post(url, {"username": "Una", "password": "barn-owl-4711"})
    una.refresh_from_db()
    assert una.user.check_password("barn-owl-4711") and not una.user.is_superuser


@pytest.mark.parametrize(
    ("username", "password", "says"),
    [
        ("ilse", "1234", ("There is an account", "too short")),
        ("", "1234", ("is empty: fill it in", "too short")),
        ("ilse", "", ("There is an account", "is empty: fill it in")),
    ],
)
def test_all_that_is_wrong_with_an_account_is_said_at_once(shed, at_lead, username, password, says):
    una = shed.people.create(name="Una", role="lead")
    url = reverse("crew_account", args=["SHED", una.pk])
    answer = at_lead.post(url, {"username": username, "password": password})
    assert answer.status_code == 422 and all(words in answer.content.decode() for words in says)


@pytest.mark.parametrize("password", ["", " "])
def test_the_act_takes_no_empty_password(shed, lead, password):
    una = shed.people.create(name="Una", role="lead")
    with pytest.raises(Refused, match="too short"):
        give_account(person=una, username="Una", password=password, by=lead, now=MONDAY)


def test_a_helper_gets_no_account(shed, at_lead, helper, django_user_model):
    at_lead.post(reverse("crew_account", args=["SHED", helper.pk]), {"username": "M", "password": "barn-owl-4711"})
    assert not django_user_model.objects.filter(username="M").exists()


def test_an_empty_crew_says_what_to_do_next(shed, at_lead):
    assert "No helpers yet" in at_lead.get(reverse("crew", args=["SHED"])).content.decode()


def test_helpers_see_who_comes_but_no_buttons(shed, helper, sign_in):
    page = sign_in(helper).get(reverse("crew", args=["SHED"])).content.decode()
    assert "Marek" in page and "Issue PIN" not in page and "Add somebody" not in page


def test_the_crew_page_asks_a_fixed_number_of_questions(shed, at_lead, helper, django_assert_num_queries):
    for number in range(12):
        person = shed.people.create(name=f"Helper {number}")
        person.shifts.create(starts_at=MONDAY, ends_at=hours_after(3))
    with django_assert_num_queries(9):  # session, account, build, person; people, hours, shifts, patterns; locks
        at_lead.get(reverse("crew", args=["SHED"]))


@pytest.mark.parametrize("name", ["crew", "plan", "forecast"])
def test_every_screen_that_somebody_may_see_has_a_way_to_it(shed, helper, viewer, sign_in, name):
    """Twice: in the row of a wide screen, and under More on a phone."""
    for person in (helper, viewer):
        page = sign_in(person).get(reverse("sphere", args=["SHED"])).content.decode()
        ways = page[page.index('<nav class="ways"') :]
        ways = ways[: ways.index("</nav>")]
        assert ways.count(f'href="{reverse(name, args=["SHED"])}"') == (
            1 if (person, name) == (viewer, "forecast") else 2
        )
