"""Hours, jobs and loading tables from the browser."""

from __future__ import annotations

import uuid
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from buildlog.models import Stint
from tests.pages import text
from tests.people import start_stint

MESSY = Path(__file__).parent.parent / "data" / "messy"
PAST = {"work": "populate", "start": "2026-03-02T10:00", "end": "2026-03-02T11:00", "segment": "R1-1", "pixels": "5"}


@pytest.fixture
def at_lead(lead, sign_in):
    return sign_in(lead)


def enter(client, *people, **changes):
    said = {"stint": uuid.uuid4(), "name": [str(person.pk) for person in people], **PAST, **changes}
    return client.post(reverse("hours_enter", args=["SHED"]), said)


def test_a_stint_that_is_over_is_entered_with_its_pixels(shed, at_lead, helper):
    assert enter(at_lead, helper).status_code == 302
    stint = shed.stints.get()
    assert stint.hours == 1 and stint.entries.get().pixels == 5
    page = at_lead.get(reverse("hours", args=["SHED"])).content.decode()
    assert "Mon 2 Mar 2026" in page and "10:00–11:00" in page and "R1-1" in page


def test_sending_the_same_form_twice_enters_one_stint(shed, at_lead, helper):
    stint = uuid.uuid4()
    for _ in range(2):
        enter(at_lead, helper, stint=stint)
    assert shed.stints.count() == 1 and shed.entries.count() == 1


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"end": "2026-03-02T09:00"}, "ends before it starts"),
        ({"end": "2126-03-02T09:00"}, "ends in the future"),
        ({"segment": "R99-9"}, "no segment &#x27;R99-9&#x27;"),
        ({"pixels": "9999"}, "9999 pixels are more than R1-1 has left"),
        ({"break_min": "90"}, "longer than the stint"),
        ({"start": "2026-03-29T02:30", "end": "2026-03-29T04:30"}, "does not exist in Europe/Oslo"),
        ({"start": "yesterday"}, "write it like 2026-05-02 09:00"),
    ],
)
def test_a_wrong_stint_is_refused_beside_the_field_and_keeps_what_was_typed(shed, at_lead, helper, changes, says):
    page = enter(at_lead, helper, **changes).content.decode()
    assert says in page and not shed.stints.exists()
    assert next(iter(changes.values())) in page


def test_everything_that_is_wrong_with_a_stint_is_said_at_once(shed, at_lead, helper):
    enter(at_lead, helper)
    page = enter(at_lead, helper, segment="R99-9", break_min="much", start="2026-03-02T10:30").content.decode()
    for says in ("not a number", "no segment &#x27;R99-9&#x27;", "Marek has a stint there already"):
        assert says in page
    page = enter(at_lead, segment="R99-9", end="2126-03-02T09:00").content.decode()
    for says in ("Nothing is chosen", "no segment &#x27;R99-9&#x27;", "ends in the future"):
        assert says in page
    page = enter(at_lead, helper, segment="", pixels="5", end="2026-03-02T09:00").content.decode()
    for says in ("name both, or leave pixels empty", "ends before it starts"):
        assert says in page
    assert shed.stints.count() == 1


def test_helpers_enter_and_see_their_own_stints_only(shed, at_lead, helper, other_helper, sign_in):
    enter(at_lead, other_helper)
    client = sign_in(helper)
    assert enter(client, other_helper, start="2026-03-03T10:00", end="2026-03-03T11:00").status_code == 422
    assert enter(client, helper).status_code == 302
    page = client.get(reverse("hours", args=["SHED"])).content.decode()
    assert "Marek" in page and "Noor" not in page


def test_a_helper_is_not_named_on_every_line_of_their_own_but_who_worked_with_them_is(
    shed, at_lead, helper, other_helper, sign_in
):
    enter(at_lead, helper)
    enter(at_lead, helper, other_helper, start="2026-03-03T10:00", end="2026-03-03T11:00")
    whose = '<td class="who">{}</td>'.format
    page = sign_in(helper).get(reverse("hours", args=["SHED"])).content.decode()
    assert whose("") in page and whose("Marek and Noor") in page and whose("Marek") not in page


def test_stints_can_be_chosen_by_work_person_and_day(shed, at_lead, helper, other_helper):
    enter(at_lead, helper)
    enter(at_lead, other_helper, work="mount", segment="", pixels="", start="2026-03-03T10:00", end="2026-03-03T11:00")
    for query, who in ({"work": "mount"}, "Noor"), ({"person": helper.pk}, "Marek"), ({"day": "2026-03-03"}, "Noor"):
        lines = at_lead.get(reverse("hours", args=["SHED"]), query).context["hours"].lines
        assert [line.names for line in lines] == [who]


def test_doubtful_stints_are_asked_about_and_left_out_of_the_sums(shed, at_lead, helper):
    stint = start_stint(helper, segment=shed.segments.current().first())
    Stint.objects.filter(pk=stint.pk).update(state="to_confirm", ended_at=stint.started_at, doubt="It ran for 14.0 h.")
    answer = at_lead.get(reverse("hours", args=["SHED"]))
    assert "1 stint to be confirmed" in text(answer) and answer.context["hours"].total == 0


def test_no_hours_yet_says_what_to_do_next(shed, at_lead):
    assert "Start a stint on Today" in at_lead.get(reverse("hours", args=["SHED"])).content.decode()


def test_jobs_are_added_changed_and_done(shed, at_lead):
    said = {"job": "paint", "hours_low": "1", "hours_likely": "2", "hours_high": "4", "hands": "1"}
    at_lead.post(reverse("jobs", args=["SHED"]), said)
    at_lead.post(reverse("jobs", args=["SHED"]), {**said, "job": "box", "after": ["paint"]})
    paint, box = shed.jobs.get(name="paint"), shed.jobs.get(name="box")
    assert list(box.after.all()) == [paint]
    at_lead.post(reverse("job_done", args=["SHED", paint.pk]), {"done": "yes"})
    paint.refresh_from_db()
    assert paint.done_at is not None
    ring = at_lead.post(reverse("job", args=["SHED", paint.pk]), {**said, "after": ["box"]}).content.decode()
    assert "would wait for itself" in ring


def test_estimates_out_of_order_are_refused(shed, at_lead):
    said = {"job": "paint", "hours_low": "5", "hours_likely": "2", "hours_high": "4", "hands": "1"}
    assert "rising order" in at_lead.post(reverse("jobs", args=["SHED"]), said).content.decode()


def test_a_table_with_bad_rows_is_refused_as_a_whole_and_every_row_listed(shed, at_lead):
    bad = SimpleUploadedFile("crew.csv", (MESSY / "crew-names.csv").read_bytes())
    answer = at_lead.post(reverse("load", args=["SHED", "crew"]), {"file": bad})
    page = answer.content.decode()
    assert answer.status_code == 422 and "Nothing was loaded" in page and "&#x27;welding&#x27; is not known" in page
    assert [problem.row for problem in answer.context["problems"]] == [6, 7, 8]
    assert not shed.people.filter(name="Zoë Łuczak").exists()


def test_a_good_table_is_loaded_and_names_show_as_they_are(shed, at_lead):
    rows = (MESSY / "crew-names.csv").read_text(encoding="utf-8").splitlines()[:5]
    good = SimpleUploadedFile("crew.csv", "\n".join(rows).encode())
    page = at_lead.post(reverse("load", args=["SHED", "crew"]), {"file": good}, follow=True).content.decode()
    assert "4 people loaded" in page
    for name in ("Zoë Łuczak", "O&#x27;Neil, Sean", "=HYPERLINK(&quot;x&quot;)", "李小龙"):
        assert name in page
