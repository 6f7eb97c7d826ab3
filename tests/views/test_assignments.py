"""Handing out the coming shift from the day plan: seen first, taken whole or for one helper, undone, conflicts said."""

from __future__ import annotations

import uuid

import pytest
from django.urls import reverse

from buildlog import answering, forecasting
from buildlog.actions import assignments, ticks
from buildlog.answering import answer_next
from buildlog.core.work.stages import Stage
from buildlog.queries.assignments import preview_of
from tests.management.test_lines import refused, run
from tests.pages import text
from tests.people import MONDAY, give, hours_after, start_stint


def url(name: str, *more: object) -> str:
    return reverse(name, args=["SHED", *more])


@pytest.fixture(autouse=True)
def few_trials(monkeypatch):
    for module, name in ((forecasting, "TRIALS"), (answering, "TRIALS"), (answering, "TAKES_TRIALS")):
        monkeypatch.setattr(module, name, 8)


@pytest.fixture
def planned(shed, helper, other_helper):
    """Marek and Noor come two hours a day; the day plan is made."""
    for day in range(30):
        for person in (helper, other_helper):
            person.shifts.create(starts_at=hours_after(24 * day), ends_at=hours_after(24 * day + 2))
    make_plan(shed)
    return shed


def make_plan(build, now=MONDAY) -> None:
    forecasting.refresh(build, now)
    while answer_next(build, now) is not None:
        pass


def owners(build) -> dict[str, str]:
    return dict(build.segments.exclude(assigned_to=None).values_list("code", "assigned_to__name"))


def suggested(build) -> dict[str, str]:
    return {one.segment: one.helper for one in preview_of(build).suggestion.assignments}


def take(client, build, **what):
    return client.post(url("assignments_take"), {"version": preview_of(build).version} | what)


def test_what_would_change_is_seen_before_anything_does(planned, lead, sign_in):
    page = text(sign_in(lead).get(url("assignments")))
    assert suggested(planned) and not owners(planned)
    assert set(suggested(planned).values()) == {"Marek", "Noor"}
    assert all(url("segment", code) in page for code in suggested(planned))
    assert page.count("nobody’s yet") == 1, "the usual is said once, not on each line"
    assert "Hand out all of it" in page and "Hand these to Marek" in page and "on Mon 2 March" in page


def test_all_of_it_is_taken_and_undone(planned, lead, sign_in):
    client, wanted = sign_in(lead), suggested(planned)
    page = text(take(client, planned))
    assert owners(planned) == wanted and f"{len(wanted)} segments from the day plan handed to Marek and Noor." in page
    line = planned.records.get(verb="hand out")
    assert line.by == lead and line.detail["given"] == wanted
    assert "free again" in text(client.post(url("assignments_undo", line.pk))) and not owners(planned)


def test_one_helpers_is_taken_and_the_others_still_stand_there(planned, lead, sign_in):
    client, wanted = sign_in(lead), suggested(planned)
    page = text(take(client, planned, helper="Noor"))
    assert owners(planned) == {code: who for code, who in wanted.items() if who == "Noor"}
    assert "Hand these to Marek" in page and "Hand these to Noor" not in page


def test_what_somebody_got_ticked_or_is_at_meanwhile_is_said_and_the_rest_is_taken(
    planned, lead, helper, other_helper, sign_in
):
    wanted = suggested(planned)
    got, ticked, busy, *rest = [code for code, who in wanted.items() if who == "Marek"]
    give(planned, other_helper, got)
    ticks.tick(
        build=planned, actor=helper, entry_id=uuid.uuid4(), segment_code=ticked, stage=Stage.POPULATE, pixels=3,
        moment=ticks.Moment.now(MONDAY),
    )  # fmt: skip
    start_stint(other_helper, segment=planned.segments.get(code=busy))
    page = text(take(sign_in(lead), planned))
    assert f"{got} is Noor’s already." in page and f"{ticked} was ticked meanwhile." in page
    assert f"Noor is at {busy} right now." in page
    assert owners(planned) == {code: who for code, who in wanted.items() if code not in (got, ticked, busy)} | {
        got: "Noor"
    }


def test_a_day_plan_made_anew_is_looked_at_before_it_is_taken(planned, lead, sign_in):
    client, seen = sign_in(lead), preview_of(planned).version
    make_plan(planned, hours_after(2))
    planned.questions.filter(kind="day_plan").update(answered_at=hours_after(2))
    answer = client.post(url("assignments_take"), {"version": seen}, follow=True)
    assert "made anew meanwhile" in text(answer) and not owners(planned)


@pytest.mark.parametrize(
    "what", [{}, {"version": "soon"}, {"helper": "Zoe"}, {"helper": "\x00"}, {"version": "1e9" * 999}]
)
def test_what_makes_no_sense_changes_nothing(planned, lead, sign_in, what):
    given = {"version": preview_of(planned).version, "helper": "Marek"} if "helper" in what else {}
    assert sign_in(lead).post(url("assignments_take"), given | what).status_code == 302 and not owners(planned)


def test_undo_leaves_what_somebody_else_has_got_since(planned, lead, other_helper, sign_in):
    client = sign_in(lead)
    take(client, planned)
    line = planned.records.get(verb="hand out")
    moved = next(code for code, who in line.detail["given"].items() if who == "Marek")
    give(planned, other_helper, moved)
    page = text(client.post(url("assignments_undo", line.pk)))
    assert owners(planned) == {moved: "Noor"} and f"{moved} is not Marek’s any more." in page
    assert client.post(url("assignments_undo", line.pk)).status_code == 200, "twice is harmless"
    assert client.post(url("assignments_undo", 999_999_999)).status_code == 404


def test_an_undo_sent_again_takes_nothing_from_whoever_got_it_by_hand_since(planned, lead, sign_in):
    client, gave = sign_in(lead), suggested(planned)
    take(client, planned)
    line = planned.records.get(verb=assignments.VERB)
    client.post(url("assignments_undo", line.pk))
    code, name = next(iter(gave.items()))
    give(planned, planned.people.get(name=name), code)
    assert "It is undone already." in text(client.post(url("assignments_undo", line.pk)))
    assert owners(planned) == {code: name}


def test_taken_twice_changes_nothing_the_second_time(planned, lead, sign_in):
    client = sign_in(lead)
    take(client, planned)
    before = owners(planned)
    assert "Nothing was changed" in text(take(client, planned)) and owners(planned) == before


def test_helpers_see_the_day_plan_but_do_not_hand_out(planned, helper, sign_in):
    client = sign_in(helper)
    page = text(client.get(url("day_plan")))
    assert "Hand out the coming shift" not in page
    assert client.get(url("assignments")).status_code == 403
    assert take(client, planned).status_code == 403 and not owners(planned)
    assert f"{url('day_plan')}?helper=Marek" in text(client.get(url("today")))
    assert url("day_plan") in text(client.get(url("crew")))


def test_before_the_first_day_plan_the_screen_says_how_one_comes(shed, lead, sign_in):
    assert "No day plan yet" in text(sign_in(lead).get(url("assignments")))


def test_a_suggestion_keeps_skills_and_gives_nobody_what_they_cannot_do(planned, helper, lead, sign_in):
    helper.skills = ["wire", "test"]
    helper.save()
    make_plan(planned, hours_after(0.5))
    planned.questions.filter(kind="day_plan").update(answered_at=None)
    make_plan(planned, hours_after(0.5))
    works = {one.helper: one.work for one in preview_of(planned).suggestion.assignments}
    assert "populate" not in works.get("Marek", "") and "populate" in works["Noor"]


# ---- by command -----------------------------------------------------------------------------


@pytest.fixture
def next_days(shed, helper, other_helper):
    """As the command sees it: from now on."""
    from datetime import timedelta

    from django.utils import timezone

    now = timezone.now()
    for day in range(30):
        for person in (helper, other_helper):
            start = now + timedelta(hours=24 * day + 1)
            person.shifts.create(starts_at=start, ends_at=start + timedelta(hours=2))
    return shed


def test_by_command_it_is_said_first_taken_for_one_helper_and_undone(next_days):
    line = ("assign", "--build", "SHED", "--from-day-plan")
    assert "Nothing is changed" in run(*line, "--dry-run") and not owners(next_days)
    assert "handed to Noor." in run(*line, "--helper", "Noor") and set(owners(next_days).values()) == {"Noor"}
    assert "Marek" in run(*line) and set(owners(next_days).values()) == {"Marek", "Noor"}
    run("assign", "--build", "SHED", "--undo")
    assert set(owners(next_days).values()) == {"Noor"}, "the last one is undone first"
    run("assign", "--build", "SHED", "--undo")
    assert not owners(next_days)
    assert "nothing to undo" in refused("assign", "--build", "SHED", "--undo")[0]


def test_by_command_an_undo_that_was_to_change_nothing_is_refused(next_days):
    run("assign", "--build", "SHED", "--from-day-plan")
    given = owners(next_days)
    lines = refused("assign", "--build", "SHED", "--undo", "--dry-run", "--helper", "Noor")
    assert [line.split(":")[0] for line in lines] == ["--helper", "--dry-run"] and given
    assert owners(next_days) == given


def test_by_command_a_helper_for_whom_there_is_nothing_is_refused(next_days):
    (line,) = refused("assign", "--build", "SHED", "--from-day-plan", "--helper", "Zoe")
    assert line == "--helper: Nothing is suggested for 'Zoe'; there is something for: Marek and Noor."
