"""A stint's times put right, confirmed, and entered around a clock change."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.core.management import call_command
from django.urls import reverse

from buildlog.actions import stints, ticks
from buildlog.core.work.stages import Stage
from buildlog.models import Stint
from tests.pages import text
from tests.people import MONDAY, client_of, hours_after, start_stint


@pytest.fixture(autouse=True)
def clock(server_clock):
    """Tuesday 08:00 in the shed, until set otherwise."""
    server_clock(hours_after(22))
    return server_clock


@pytest.fixture
def forgotten(shed, helper):
    """Begun on Monday at 10:00, ticked at 12:30, never stopped."""
    segment = shed.segments.get(code="R1-1")
    stint = start_stint(helper, segment=segment)
    ticks.tick(
        build=shed, actor=helper, entry_id=uuid4(), segment_code="R1-1", stage=Stage.POPULATE, pixels=20,
        moment=ticks.Moment.now(hours_after(2.5)), stint=stint,
    )  # fmt: skip
    stints.close_forgotten(build=shed, now=hours_after(21))
    stint.refresh_from_db()
    return stint


@pytest.fixture
def marek(helper):
    return client_of(helper)


def page(client, stint, name="stint_correct"):
    return client.get(reverse(name, args=["SHED", stint.pk]))


def say(client, stint, start="2026-03-02T10:00", end="2026-03-02T12:40", **more):
    return client.post(reverse("stint_correct", args=["SHED", stint.pk]), {"start": start, "end": end, **more})


def test_it_asks_with_the_last_tick_as_the_likely_end(marek, forgotten):
    answer = page(marek, forgotten)
    assert "When did you stop?" in answer.text and 'value="2026-03-02T12:30"' in answer.text


def test_the_answer_counts_and_the_old_times_stay_on_record(shed, marek, forgotten):
    assert say(marek, forgotten, break_min="10").headers["Location"] == "/b/SHED/today/"
    forgotten.refresh_from_db()
    assert (forgotten.state, forgotten.hours) == (Stint.State.CLOSED, 2.5)
    assert "Before: Mon 2 Mar, 10:00 to Mon 2 Mar, 22:00" in text(page(marek, forgotten))


def test_it_can_be_confirmed_as_it_stands(shed, marek, forgotten):
    marek.post(reverse("stint_confirm", args=["SHED", forgotten.pk]))
    forgotten.refresh_from_db()
    assert (forgotten.state, forgotten.hours) == (Stint.State.CLOSED, 12.0)


def test_the_lead_answers_for_a_helper_and_goes_back_to_the_hours(shed, lead, forgotten):
    assert "When did Marek stop?" in page(client_of(lead), forgotten).text
    answer = say(client_of(lead), forgotten, next="/b/SHED/hours/")
    assert answer.headers["Location"] == "/b/SHED/hours/"


def test_another_helper_does_not_even_see_it(shed, other_helper, forgotten):
    noor = client_of(other_helper)
    assert page(noor, forgotten).status_code == 404
    assert say(noor, forgotten).status_code == 404


@pytest.mark.parametrize(
    ("start", "end", "says"),
    [
        ("2026-03-02T10:00", "2026-03-02T09:00", "ends before it starts"),
        ("2026-03-02T10:00", "2026-03-03T08:30", "end in the future"),
        ("2026-03-02T10:00", "", "Say when you stopped"),
        ("2026-03-02", "2026-03-02T12:00", "is not a time"),
    ],
)
def test_impossible_times_are_refused_with_what_was_typed(marek, forgotten, start, end, says):
    answer = say(marek, forgotten, start, end)
    assert answer.status_code == 422 and says in answer.text and f'value="{start}"' in answer.text


def test_a_break_longer_than_the_stint_is_refused_at_its_field(marek, forgotten):
    answer = say(marek, forgotten, break_min="400")
    assert "longer than the stint" in str(answer.context["form"].errors["break_min"])


@pytest.mark.parametrize(
    ("end", "says"), [("2026-03-02T09:00", "ends before it starts"), ("2026-03-03T08:30", "end in the future")]
)
def test_a_field_that_cannot_be_read_and_impossible_times_are_said_at_once(marek, forgotten, end, says):
    answer = say(marek, forgotten, end=end, break_min="much")
    assert answer.status_code == 422 and says in answer.text and "not a whole number" in answer.text


def test_an_overlap_with_another_stint_is_refused(shed, helper, marek, forgotten):
    stints.log(
        build=shed, stint_id=uuid4(), people=[helper], work=stints.Work(stage=Stage.MOUNT),
        spell=stints.Spell(hours_after(5), hours_after(6)),
    )  # fmt: skip
    assert "has a stint there already" in say(marek, forgotten, end="2026-03-02T16:00").text


def test_a_running_stint_can_be_put_right_too(shed, helper, marek):
    stint = start_stint(helper, segment=shed.segments.get(code="R1-1"))
    assert "When did you stop?" in page(marek, stint).text
    say(marek, stint)
    stint.refresh_from_db()
    assert stint.state == Stint.State.CLOSED


# Clocks in Oslo go back on 25 October 2026 at 03:00 and forward on 29 March 2026 at 02:00 (EU rule: last Sunday of
# the month, 01:00 UTC; Directive 2000/84/EC).


def night(shed, helper, began):
    segment = shed.segments.get(code="R1-1")
    stint = start_stint(helper, segment=segment, at=began)
    return stints.stop(stint=stint, at=began + timedelta(minutes=5))


def test_the_doubled_hour_asks_which_and_takes_either(shed, helper, clock):
    clock(datetime(2026, 10, 25, 6, tzinfo=UTC))
    marek = client_of(helper)  # a sign-in does not last from spring to autumn
    stint = night(shed, helper, datetime(2026, 10, 25, 0, 10, tzinfo=UTC))  # 02:10, the first time
    answer = say(marek, stint, "2026-10-25T01:00", "2026-10-25T02:30")
    assert answer.status_code == 422 and "This hour came twice: say which one" in answer.text
    for fold, length in (("0", 1.5), ("1", 2.5)):
        assert say(marek, stint, "2026-10-25T01:00", "2026-10-25T02:30", end_fold=fold).status_code == 302
        stint.refresh_from_db()
        assert stint.hours == length


def test_a_stint_in_the_doubled_hour_shows_which_one_it_was(shed, helper, clock):
    clock(datetime(2026, 10, 25, 6, tzinfo=UTC))
    marek = client_of(helper)
    stint = night(shed, helper, datetime(2026, 10, 25, 1, 10, tzinfo=UTC))  # 02:10, the second time
    form = page(marek, stint).context["form"]
    assert (form["start_fold"].initial, form["end_fold"].initial) == ("1", "1")


def test_outside_the_doubled_hour_nobody_is_asked(marek, forgotten):
    assert "start_fold" not in page(marek, forgotten).context["form"].fields


def test_the_missing_hour_gets_a_sentence(shed, helper, clock):
    clock(datetime(2026, 3, 29, 6, tzinfo=UTC))
    marek = client_of(helper)
    stint = night(shed, helper, datetime(2026, 3, 29, 0, 10, tzinfo=UTC))
    answer = say(marek, stint, "2026-03-29T01:00", "2026-03-29T02:30")
    assert "2026-03-29 02:30 does not exist in Europe/Oslo" in answer.text


def test_the_command_closes_what_was_forgotten(shed, helper, capsys, monkeypatch):
    monkeypatch.setattr("buildlog.management.commands.tend.refresh", lambda build, now: None)
    start_stint(helper, segment=shed.segments.get(code="R1-1"), at=MONDAY)
    call_command("tend", "--once")
    assert "1 to be confirmed" in capsys.readouterr().out
    assert shed.stints.get().state == Stint.State.TO_CONFIRM
