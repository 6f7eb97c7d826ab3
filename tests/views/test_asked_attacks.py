"""Questions to the forecast that nobody should ask: refused with a sentence, or answered; never an error page."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from buildlog import answering, forecasting
from buildlog.actions import assignments, questions
from buildlog.answering import answer_next
from buildlog.core.forecast.questions.request import WhatIfRequest
from buildlog.models import Question
from tests.people import MONDAY, hours_after

pytestmark = pytest.mark.screen

ASK = {
    "name": "Two more", "more-0-count": "2", "more-0-weekdays": ["5"], "more-0-from_time": "10:00",
    "more-0-until_time": "17:00",
}  # fmt: skip
ODD = ("-1", "0", "1e9", "1000000000", "9" * 400, "NaN", "inf", "٣", "½", "\x00", "\ud7ff", "<script>", "'; --",
       "🎈" * 50, "2026-02-30", "0000-01-01", "9999-12-31", "10000-01-01", "25:00", " ", "None")  # fmt: skip
LINE = ("forecast", "--build", "SHED", "--as-of", "2026-03-02 10:00", "--trials", "5")


def url(name: str, *more: object) -> str:
    return reverse(name, args=["SHED", *more])


@pytest.fixture(autouse=True)
def few_trials(monkeypatch):
    for module, name in ((forecasting, "TRIALS"), (answering, "TRIALS"), (answering, "TAKES_TRIALS")):
        monkeypatch.setattr(module, name, 5)


@pytest.fixture
def known(shed, helper):
    for day in range(20):
        helper.shifts.create(starts_at=hours_after(24 * day), ends_at=hours_after(24 * day + 1))
    forecasting.refresh(shed, MONDAY)
    answer_all(shed)
    return shed


def answer_all(build) -> None:
    while answer_next(build, MONDAY) is not None:
        pass


FIELDS = ("name", "more-0-count", "more-0-weekdays", "more-0-day", "more-0-from_time", "more-0-last_day", "without",
          "shifts-0-who", "people_wire", "rings", "target_date", "target_time")  # fmt: skip


def some(every: int) -> list[tuple[str, str]]:
    """Pairs of field and value, one in so many; each field and each value is among them."""
    return [(field, value) for i, field in enumerate(FIELDS) for j, value in enumerate(ODD) if (i + j) % every == 0]


@pytest.mark.parametrize("every", [4, pytest.param(1, marks=pytest.mark.long)])
def test_no_value_in_any_field_of_a_what_if_is_an_error_page(known, lead, sign_in, every):
    client, pairs = sign_in(lead), some(every)
    assert {field for field, _ in pairs} == set(FIELDS) and {value for _, value in pairs} == set(ODD)
    for field, value in pairs:
        answer = client.post(url("what_if_add"), ASK | {field: value})
        assert answer.status_code in (302, 422), (field, value)
        Question.objects.filter(kind="what_if").delete()


@pytest.mark.parametrize("field", ["more-0-last_day", "more-0-day", "target_date", "shifts-0-day"])
def test_a_year_in_which_nothing_is_built_is_refused_beside_its_field(known, lead, sign_in, field):
    only = {"more-0-weekdays": []} if field == "more-0-day" else {}
    who = {"shifts-0-who": "Marek"} if "shifts" in field else {}
    answer = sign_in(lead).post(url("what_if_add"), ASK | only | who | {field: "9999-12-31"})
    assert answer.status_code == 422 and "Found the year 9999: give one from 1990 to 2199." in answer.content.decode()


def test_a_shift_in_such_a_year_is_refused_too(known, lead, helper, sign_in):
    shift = {"date": "9999-12-31", "start": "22:00", "end": "06:00"}
    answer = sign_in(lead).post(url("crew_shift_add", helper.pk), shift)
    assert answer.status_code == 422 and "Found the year 9999" in answer.content.decode()


def test_no_value_in_the_other_addresses_is_an_error_page(known, lead, sign_in):
    client = sign_in(lead)
    for value in ODD:
        assert client.get(url("day_plan"), {"day": value, "helper": value}).status_code == 200, value
        assert client.get(url("what_if"), {"shown": value}).status_code == 200, value
        assert client.get(url("forecast"), {"shown": value}).status_code == 200, value
        assert client.post(url("what_it_takes"), {"percent": value}).status_code in (302, 422), value
        assert client.post(url("assignments_take"), {"version": value, "helper": value}).status_code == 302, value


def test_what_belongs_to_another_build_is_not_found(known, lead, outsider, sign_in):
    theirs = questions.what_if(build=outsider.build, request=WhatIfRequest("Theirs", rework=False), now=MONDAY)
    line = outsider.build.records.create(
        at=MONDAY, verb=assignments.VERB, says="Theirs.", detail={"given": {"R1-1": "Pia"}}
    )
    client = sign_in(lead)
    assert client.get(url("what_if_change", theirs.pk)).status_code == 404
    assert client.post(url("what_if_change", theirs.pk), ASK).status_code == 404
    assert client.post(url("what_if_drop", theirs.pk)).status_code == 404
    assert client.post(url("assignments_undo", line.pk)).status_code == 404
    assert client.get(reverse("what_if", args=["LOFT"])).status_code in (302, 404)
    assert "Theirs" not in client.get(url("what_if")).content.decode()
    assert Question.objects.filter(pk=theirs.pk).exists()


def test_a_helper_reads_and_changes_nothing(known, helper, sign_in):
    asked = questions.what_if(build=known, request=WhatIfRequest("Ours", rework=False), now=MONDAY)
    client = sign_in(helper)
    assert client.get(url("what_if")).status_code == 200 and client.get(url("day_plan")).status_code == 200
    forms = {"what_if_add": (), "what_if_change": (asked.pk,), "what_if_drop": (asked.pk,), "assignments": (),
             "what_it_takes": (), "assignments_take": (), "assignments_undo": (1,)}  # fmt: skip
    for name, pk in forms.items():
        assert client.post(url(name, *pk), ASK | {"percent": "80"}).status_code in (403, 405), name
    assert Question.objects.filter(kind="what_if").count() == 1 and not Question.objects.filter(kind="takes").exists()


def test_a_question_survives_a_build_that_changes_and_an_app_that_is_started_again(known, helper, lead, sign_in):
    questions.what_if(build=known, request=WhatIfRequest("Alone", without=("Marek",)), now=MONDAY)
    helper.name = "Marek the second"
    helper.save()
    answer_all(known)
    assert Question.objects.get(name="Alone").answered_at is None, "the forecast beside it comes first"
    forecasting.refresh(known, hours_after(0.1))  # by a program that has just been started: nothing waits in memory
    answer_all(known)
    page = sign_in(lead).get(url("what_if")).content.decode()
    assert "There is no helper Marek: choose one that is there." in page


COMMANDS = (
    *((option, value) for option in ("--more", "--shift", "--people", "--first-rings", "--target", "--what-it-takes")
      for value in ODD),
    *(("--more", text) for text in ("1000000000 Sat 10:00-17:00", "2 Sat 10:00-17:00 until 0001-01-01",
      "2 Sat 99:99-17:00", "2 9999-12-31 10:00-17:00", "-2 Sat 10:00-17:00", "2 Sat 10:00-10:00", "٢ Sat 10:00-17:00")),
    ("--first-rings", "1-99999999999"), ("--first-rings", "5-1"), ("--people", "wire=-1"), ("--people", "wire=1e9"),
    ("--target", "9999-12-31"), ("--target", "0001-01-01"), ("--without", "🎈"), ("--what-if", "x" * 999),
)  # fmt: skip


def test_no_value_behind_an_option_is_a_traceback(known):
    for words in COMMANDS:
        _run(*LINE, *words)
    for option in ("--as-of", "--trials", "--seed"):
        for value in ODD:
            _run("forecast", "--build", "SHED", "--trials", "5", option, value)
    for value in ODD:
        _run(*LINE, "--day-plan", "--day", value, "--helper", value)
        _run("forecast", "--build", value, "--trials", "5")
        _run("assign", "--build", "SHED", "--from-day-plan", "--dry-run", "--helper", value)


def _run(*words: str) -> None:
    """It answers, or refuses in lines."""
    out, err = StringIO(), StringIO()
    try:
        call_command(*words, stdout=out, stderr=err)
    except SystemExit as stopped:
        assert stopped.code == 1 and err.getvalue().strip(), words
    except CommandError as refused:
        assert str(refused).strip(), words
    else:
        assert out.getvalue().strip(), words
