"""What if and the day plan in the browser: asked by the lead, seen by everybody, wrong input beside its field."""

from __future__ import annotations

import pytest
from django.urls import reverse

from buildlog import answering, forecasting
from buildlog.actions import questions
from buildlog.answering import answer_next
from buildlog.core.forecast.questions.request import WhatIfRequest
from buildlog.models import Question
from tests.pages import text
from tests.people import MONDAY, hours_after

pytestmark = pytest.mark.screen

ASK = {
    "name": "Two more", "more-0-count": "2", "more-0-weekdays": ["5", "6"], "more-0-from_time": "10:00",
    "more-0-until_time": "17:00",
}  # fmt: skip


def url(name: str, *more: object) -> str:
    return reverse(name, args=["SHED", *more])


@pytest.fixture(autouse=True)
def few_trials(monkeypatch):
    for module, name in ((forecasting, "TRIALS"), (answering, "TRIALS"), (answering, "TAKES_TRIALS")):
        monkeypatch.setattr(module, name, 20)


@pytest.fixture
def known(shed, helper):
    """Marek comes an hour every day; the forecast is made."""
    for day in range(30):
        helper.shifts.create(starts_at=hours_after(24 * day), ends_at=hours_after(24 * day + 1))
    forecasting.refresh(shed, MONDAY)
    return shed


def answer_all(build) -> None:
    while answer_next(build, MONDAY) is not None:
        pass


def test_nothing_asked_yet_says_what_can_be_asked(known, lead, sign_in):
    page = text(sign_in(lead).get(url("what_if")))
    assert "Nothing asked yet" in page and url("what_if_add") in page


def test_the_lead_asks_and_sees_the_answer_beside_today(known, lead, sign_in):
    client = sign_in(lead)
    assert client.post(url("what_if_add"), ASK).status_code == 302
    assert "Being worked out" in text(client.get(url("what_if")))
    answer_all(known)
    page = text(client.get(url("what_if")))
    assert "2 more helpers, Sat and Sun 10:00–17:00" in page and "Being worked out" not in page
    assert 'id="beside-wide-title"' in page and "80 % sure" in page
    assert "Beside today" not in text(client.get(url("forecast"))) and "Two more" in text(client.get(url("forecast")))


def test_everything_at_once_is_kept_and_can_be_changed(known, lead, helper, other_helper, sign_in):
    client = sign_in(lead)
    everything = ASK | {
        "more-0-skills": ["wire", "test"], "more-1-count": "1", "more-1-day": "2030-06-01", "more-1-from_time": "09:00",
        "more-1-until_time": "12:00", "without": ["Noor"], "shifts-0-who": "Marek", "shifts-0-weekdays": ["0"],
        "shifts-0-from_time": "18:00", "shifts-0-until_time": "21:00", "people_wire": "3", "people_test": "none",
        "rings": "2-3, 5", "no_rework": "on", "hand_over": "on", "target_date": "2030-06-02",
    }  # fmt: skip
    assert client.post(url("what_if_add"), everything).status_code == 302
    question = Question.objects.get(kind="what_if")
    wish = WhatIfRequest.of_json(question.asks)
    assert len(wish.parts) == 10 and wish.rings == (2, 3, 5) and dict(wish.people) == {"wire": 3, "test": None}
    form = client.get(url("what_if_change", question.pk)).context["form"]
    again = {key: value for key, value in _typed(form).items() if value not in (None, "", [], False)}
    assert client.post(url("what_if_change", question.pk), again).status_code == 302
    question.refresh_from_db()
    assert WhatIfRequest.of_json(question.asks) == wish, "the form shows what was asked, and asks it again"


def _typed(form) -> dict:
    fields = [field for part in (form, *form.more, *form.shifts) for field in part]
    return {field.html_name: field.value() for field in fields}


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"name": ""}, "is empty: fill it in"),
        ({"name": "Nothing", "more-0-count": "", "more-0-weekdays": []}, "Nothing is changed"),
        ({"more-0-weekdays": []}, "No day is given"),
        ({"more-0-count": ""}, "How many more?"),
        ({"more-0-count": "99"}, "20 is the most"),
        ({"more-0-until_time": "10:00"}, "It ends when it starts"),
        ({"more-0-day": "2030-06-01"}, "clear one of the two"),
        ({"shifts-0-weekdays": ["1"]}, "Who comes then?"),
        (
            {"without": ["Marek"], "shifts-0-who": "Marek", "shifts-0-weekdays": ["1"]},
            "cannot leave and come more often",
        ),
        ({"without": ["Zoe"]}, "Zoe” cannot be chosen here"),
        ({"rings": "all"}, "Give rings and ranges"),
        ({"rings": "3-99"}, "There is no ring 99: rings go from 1 to 5"),
        ({"target_date": "2020-01-01"}, "has passed"),
        ({"target_time": "12:00"}, "A time needs its day"),
    ],
)
def test_wrong_input_comes_back_with_a_sentence_and_what_was_typed(known, lead, sign_in, typed, says):
    answer = sign_in(lead).post(url("what_if_add"), ASK | typed)
    assert answer.status_code == 422 and says in text(answer)
    assert 'value="10:00"' in text(answer), "what was typed is kept"
    assert not Question.objects.filter(kind="what_if").exists()


def test_the_same_name_twice_is_refused_by_the_field(known, lead, sign_in):
    client = sign_in(lead)
    client.post(url("what_if_add"), ASK)
    answer = client.post(url("what_if_add"), ASK)
    assert answer.status_code == 422 and "choose another name" in text(answer)


def test_a_taken_name_is_said_together_with_what_else_is_wrong(known, lead, sign_in):
    client = sign_in(lead)
    client.post(url("what_if_add"), ASK)
    answer = client.post(url("what_if_add"), ASK | {"more-0-count": "99", "rings": "all"})
    assert "choose another name" in text(answer) and "20 is the most" in text(answer)
    assert "Give rings and ranges" in text(answer)


def test_a_what_if_is_taken_away(known, lead, sign_in):
    client = sign_in(lead)
    client.post(url("what_if_add"), ASK)
    client.post(url("what_if_drop", Question.objects.get(kind="what_if").pk))
    assert "Nothing asked yet" in text(client.get(url("what_if")))


def test_what_it_takes_is_asked_for_a_chance(known, lead, sign_in):
    known.target_at = hours_after(24 * 20)
    known.save()
    forecasting.refresh(known, MONDAY)
    client = sign_in(lead)
    assert client.post(url("what_it_takes"), {"percent": "70"}).status_code == 302
    answer_all(known)
    page = text(client.get(url("what_if")))
    assert "Nothing more is needed" in page and "Asked for 70 % sure" in page
    wrong = client.post(url("what_it_takes"), {"percent": "100"})
    assert wrong.status_code == 422 and "99 is the most" in text(wrong)


def test_a_poll_is_answered_only_when_something_is_new(known, lead, sign_in):
    client = sign_in(lead)
    client.post(url("what_if_add"), ASK)
    panel = client.get(url("what_if"))
    same = {"shown": panel.context["asked"].version}
    assert client.get(url("what_if"), same, HTTP_HX_REQUEST="true").status_code == 204
    answer_all(known)
    newer = client.get(url("what_if"), same, HTTP_HX_REQUEST="true")
    assert newer.status_code == 200 and "<html" not in text(newer)


def test_everybody_sees_the_answers_and_nobody_else_may_ask(known, lead, viewer, sign_in):
    questions.what_if(build=known, request=WhatIfRequest("No failures", rework=False), now=MONDAY)
    answer_all(known)
    page = text(sign_in(viewer).get(url("what_if")))
    assert "No failures" in page and "Ask what if" not in page and "Take away" not in page


def test_the_page_reads_a_fixed_number_of_queries(known, lead, sign_in, django_assert_num_queries):
    for number in range(3):
        questions.what_if(build=known, request=WhatIfRequest(f"{number}", rework=False), now=MONDAY)
    answer_all(known)
    client = sign_in(lead)
    with django_assert_num_queries(6):
        # session, account, build, person; what was asked; newest forecast
        client.get(url("what_if"), {"shown": "before"}, HTTP_HX_REQUEST="true")


@pytest.mark.parametrize("without", [("A", "B"), ("A",)])
def test_an_answer_that_does_not_say_from_which_forecast_it_is_does_not_hide_the_others(known, lead, sign_in, without):
    """A packed build that somebody changed can hold one."""
    for name in "AB":
        questions.what_if(build=known, request=WhatIfRequest(name, rework=False), now=MONDAY)
    answer_all(known)
    Question.objects.filter(name__in=without).update(as_of=None)
    page = text(sign_in(lead).get(url("what_if")))
    assert all(url("what_if_change", question.pk) in page for question in Question.objects.filter(kind="what_if"))
    assert "As of Mon 2 Mar" in page and "the same random numbers for all" in page


# ---- day plan -------------------------------------------------------------------------------


def test_the_day_plan_says_how_one_comes(shed, lead, sign_in):
    assert "No day plan yet" in text(sign_in(lead).get(url("day_plan")))


def test_the_day_plan_shows_the_next_day_with_links_and_says_it_is_a_suggestion(known, lead, sign_in):
    answer_all(known)
    page = text(sign_in(lead).get(url("day_plan")))
    assert "A suggestion" in page and "Monday 2 March 2026" in page and "Tuesday 3 March 2026" not in page
    assert "Marek" in page and url("segment", "R1-1") in page and "10:00–" in page


def test_one_helper_and_one_day_can_be_chosen(known, lead, helper, other_helper, sign_in):
    other_helper.shifts.create(starts_at=hours_after(24), ends_at=hours_after(26))
    forecasting.refresh(known, hours_after(0))
    answer_all(known)
    client = sign_in(lead)
    both = text(client.get(url("day_plan"), {"day": "2026-03-03"}))
    assert both.count('class="card turn-of"') == 2
    one = text(client.get(url("day_plan"), {"helper": "Noor"}))
    assert "Tuesday 3 March 2026" in one and one.count('class="card turn-of"') == 1
    none = text(client.get(url("day_plan"), {"day": "2026-03-02", "helper": "Noor"}))
    assert "No work for Noor" in none
    assert client.get(url("day_plan"), {"day": "soon", "helper": "Zoe"}).status_code == 200


def test_a_build_without_shifts_has_nothing_to_plan_and_says_why(shed, lead, helper, sign_in):
    forecasting.refresh(shed, MONDAY)
    answer_all(shed)
    assert "Nothing to plan" in text(sign_in(lead).get(url("day_plan")))
