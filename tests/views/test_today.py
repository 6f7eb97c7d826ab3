"""Today, used with plain forms: start, tick, undo, rest, stop, note; what is offered; what is asked."""

import uuid
from datetime import timedelta

import pytest
from django.urls import reverse

from buildlog.actions import stints
from buildlog.core.work.stages import Stage
from buildlog.models import Job, Note, Stint
from tests.pages import text
from tests.people import (
    MONDAY,
    client_of,
    give,
    hours_after,
    join_crew,
    start_stint,
    work_through,
)

pytestmark = pytest.mark.screen


@pytest.fixture(autouse=True)
def clock(server_clock):
    """The server's clock, set by hand: `clock(1.5)` is an hour and a half into Monday's work."""
    server_clock(MONDAY)
    return lambda hours: server_clock(hours_after(hours))


@pytest.fixture
def marek(helper):
    return client_of(helper)


def look(client, **asked):
    return client.get(reverse("today", args=["SHED"]), asked)


def seen(client, **asked):
    return look(client, **asked).context["today"]


def say(client, kind, follow=True, **data):
    data = {"id": uuid.uuid4(), **data}
    return client.post(reverse("today_entry", args=["SHED", kind]), data, follow=follow)


def start(client, segment, stage="populate", **more):
    return say(client, "stint-start", stint=uuid.uuid4(), stage=stage, segment=segment, **more)


def tick(client, segment, pixels, stage="populate", **more):
    return say(client, "tick", segment=segment, stage=stage, pixels=pixels, **more)


def piece(shed, code):
    return shed.segments.get(code=code)


# ---- what is offered ------------------------------------------------------------------------


def test_own_pieces_stand_first_and_large(shed, helper, marek):
    give(shed, helper, "R3-2")
    today = seen(marek)
    assert today.piece.cell.code == "R3-2" and today.piece.stage is Stage.POPULATE
    assert today.piece.where == "Ring 3 of 5 from the top, bays 3 to 5"


def test_with_nothing_assigned_there_are_offers_all_the_same(shed, marek):
    today = seen(marek)
    assert today.piece.cell.code == "R1-1" and len(today.nexts) == 6


def test_a_chosen_piece_is_the_one_at_hand(shed, marek):
    assert seen(marek, piece="r2-2").piece.cell.code == "R2-2"


def test_a_piece_that_the_plan_does_not_have_leaves_the_page_without_one(shed, marek):
    assert seen(marek, piece="R77-1").piece is None


def test_a_piece_that_waits_says_what_it_needs_first(shed, helper, marek):
    work_through(piece(shed, "R2-1"), Stage.WIRE, by=helper)
    today = seen(marek, piece="R2-1")
    assert today.piece.stage is None
    needs = today.piece.detail.needs.values
    assert (needs["channel"], needs["segments"].number, needs["names"]) == (1, 2, "R1-1, R1-2")
    assert "Needed first" in look(marek, piece="R2-1").text


def test_what_a_mate_is_at_is_not_offered(shed, marek, other_helper):
    start_stint(other_helper, segment=piece(shed, "R1-1"))
    assert seen(marek).piece.cell.code == "R1-2"


def test_a_mate_s_place_is_where_they_ticked_last(shed, marek, other_helper):
    stint = start_stint(other_helper, segment=piece(shed, "R1-1"))
    other = client_of(other_helper)
    tick(other, "R1-1", 20, stint=stint.pk)
    tick(other, "R1-2", 5, stint=stint.pk)
    assert seen(marek).piece.cell.code == "R1-1" and seen(marek).piece.stage is Stage.MOUNT
    assert "R1-2" not in [offer.cell.code for offer in seen(marek).nexts]


def test_where_as_many_are_at_work_as_fit_it_is_said(shed, helper, marek):
    for code in ("R1-1", "R1-2"):
        work_through(piece(shed, code), Stage.MOUNT, by=helper)
        start_stint(join_crew(shed, f"Mate {code}"), segment=piece(shed, code), stage=Stage.WIRE)
    assert seen(marek).full == (Stage.WIRE,)
    assert "As many as fit are there to wire already" in look(marek).text


def test_without_a_plan_the_page_says_what_comes_first(shed, marek):
    shed.plans.update(frozen_at=None)
    assert "Nothing to build yet" in look(marek).text


def test_when_all_is_tested_the_page_says_so(shed, helper, marek):
    shed.segments.update(**{stage.done: 999 for stage in Stage})
    assert "All of it is tested" in look(marek).text


def test_looking_changes_nothing(shed, marek, clock):
    stint = start_stint(shed.people.get(name="Marek"), segment=piece(shed, "R1-1"))
    clock(30)
    look(marek)
    look(marek, piece="R1-1")
    stint.refresh_from_db()
    assert stint.state == Stint.State.RUNNING and not shed.entries.exists()


# ---- how it is said -------------------------------------------------------------------------


def test_a_stint_is_started_ticked_in_and_stopped(shed, helper, marek, clock):
    start(marek, "R1-1")
    stint = shed.stints.get()
    clock(0.5)
    tick(marek, "R1-1", 10, stint=stint.pk)
    clock(1)
    say(marek, "stint-stop", stint=stint.pk)
    stint.refresh_from_db()
    assert (stint.stage, stint.segment.code, stint.hours) == ("populate", "R1-1", 1.0)
    assert [entry.pixels for entry in stint.entries.all()] == [10]
    assert piece(shed, "R1-1").populated == 10


def test_the_same_button_pressed_twice_counts_once(shed, marek):
    again = uuid.uuid4()
    for _ in range(2):
        answer = tick(marek, "R1-1", 10, id=again)
        assert answer.status_code == 200
    assert piece(shed, "R1-1").populated == 10


def test_more_than_is_left_is_refused_with_what_was_typed(shed, marek):
    answer = tick(marek, "R1-1", 99)
    assert answer.status_code == 422
    assert "99 pixels are more than R1-1 has left" in answer.text and 'value="99"' in answer.text


@pytest.mark.parametrize("typed", ["", "ten", "0", "-4", "2.5"])
def test_what_is_no_number_of_pixels_is_said(shed, marek, typed):
    assert tick(marek, "R1-1", typed).status_code == 422
    assert not shed.entries.exists()


def test_out_of_order_is_refused_with_the_sentence(shed, marek):
    assert "populate first, then mount" in tick(marek, "R1-1", 5, stage="mount").text


def test_after_all_is_done_the_next_piece_is_at_hand(shed, marek):
    start(marek, "R1-1")
    tick(marek, "R1-1", 20, piece="R1-1")
    today = seen(marek)
    assert (today.piece.cell.code, today.piece.stage) == ("R1-2", Stage.POPULATE)


def test_a_chosen_piece_stays_at_hand_until_it_is_done(shed, marek):
    answer = tick(marek, "R2-2", 10, piece="R2-2", follow=False)
    assert answer.headers["Location"].endswith("?piece=R2-2")
    answer = tick(marek, "R2-2", 9, piece="R2-2", follow=False)
    assert answer.headers["Location"].endswith("/today/")


def test_a_refresh_leaves_a_chosen_piece_that_is_done_meanwhile(shed, helper, marek):
    assert look(marek, piece="R2-2", until="populate").context["chosen"] == "R2-2"
    work_through(piece(shed, "R2-2"), Stage.POPULATE, by=helper)
    assert look(marek, piece="R2-2", until="populate").context["chosen"] == ""
    assert look(marek, piece="R2-2").context["chosen"] == "R2-2"


def test_a_slip_can_be_taken_back_at_once_with_one_button(shed, marek, clock):
    tick(marek, "R1-1", 10)
    entry = shed.entries.get()
    assert seen(marek).day.undo_at_hand == entry
    say(marek, "undo", undoes=entry.pk)
    assert piece(shed, "R1-1").populated == 0
    assert seen(marek).day.undo_at_hand is None


def test_after_a_minute_it_is_in_the_history(shed, marek, clock):
    tick(marek, "R1-1", 10)
    clock(0.02)
    day = seen(marek).day
    assert day.undo_at_hand is None and len(day.history) == 1


def test_yesterday_s_ticks_are_not_in_today_s_history(shed, marek, clock):
    tick(marek, "R1-1", 10)
    clock(24)
    assert seen(marek).day.history == () and seen(marek).day.last_piece == "R1-1"


def test_two_work_in_one_stint_and_both_get_the_hours(shed, helper, other_helper, marek, clock):
    start(marek, "R1-1", **{"with": [other_helper.pk]})
    clock(1)
    noor = client_of(other_helper)
    assert seen(noor).day.running.people == [helper, other_helper]
    say(noor, "stint-stop", stint=shed.stints.get().pk)
    assert shed.stints.get().hours == 1.0 and not seen(marek).day.running


def test_a_second_stint_is_refused_while_one_runs(shed, marek):
    start(marek, "R1-1")
    assert "is in a running stint" in start(marek, "R1-2").text


def test_a_rest_is_left_out_of_the_hours(shed, marek, clock):
    start(marek, "R1-1")
    stint = shed.stints.get()
    clock(1)
    say(marek, "stint-pause", stint=stint.pk)
    assert "resting since 11:00" in text(look(marek))
    clock(1.25)
    say(marek, "stint-resume", stint=stint.pk)
    clock(2)
    assert seen(marek).day.running.worked_h == pytest.approx(1.75)


def test_another_s_stint_cannot_be_stopped(shed, marek, other_helper):
    stint = start_stint(other_helper, segment=piece(shed, "R1-1"))
    assert "somebody else" in say(marek, "stint-stop", stint=stint.pk).text


def test_a_job_is_started_and_stopped(shed, marek, clock):
    job = Job.objects.create(build=shed, name="Frame", hours_low=1, hours_likely=2, hours_high=3)
    later = Job.objects.create(build=shed, name="Paint", hours_low=1, hours_likely=2, hours_high=3)
    later.after.add(job)
    assert [one.name for one in seen(marek).jobs] == ["Frame"]
    say(marek, "stint-start", stint=uuid.uuid4(), job="Frame")
    clock(1)
    running = seen(marek).day.running
    assert (running.stint.work, running.worked_h) == ("Frame", 1.0)
    assert "Stop first, then start to populate" in look(marek).text


def test_something_is_wrong_reaches_the_lead(shed, helper, marek):
    answer = say(marek, "note", segment="R1-1", says="The strap is torn at pixel 4.")
    assert "The lead will see your note" in answer.text
    note = Note.objects.get()
    assert (note.segment.code, note.by, note.says) == ("R1-1", helper, "The strap is torn at pixel 4.")


def test_an_empty_note_is_refused(shed, marek):
    assert "Say in a few words" in say(marek, "note", segment="R1-1", says=" ").text


def test_a_kind_that_is_none_is_not_found(shed, marek):
    assert say(marek, "reopen").status_code == 404


# ---- hands, cautions, questions -------------------------------------------------------------


def test_hours_today_and_the_hands_limit(shed, helper, marek, clock):
    helper.populate_limit_h = 2
    helper.save()
    start(marek, "R1-1")
    clock(2.5)
    day = seen(marek).day
    assert (day.hours, day.hands.today_h) == (2.5, 2.5)
    assert "your limit is 2 h: take other work" in look(marek).text


def test_a_stint_over_midnight_counts_today_from_midnight(shed, helper, marek, clock):
    stint = start_stint(helper, segment=piece(shed, "R1-1"), at=MONDAY - timedelta(hours=12))  # Sunday 22:00
    clock(-9.5)  # 00:30 in the shed
    tick(marek, "R1-1", 5, stint=stint.pk)
    clock(-9)
    assert seen(marek).day.hours == pytest.approx(1.0)


def test_cautions_stand_where_the_work_is(shed, helper, marek):
    work_through(piece(shed, "R1-1"), Stage.MOUNT, by=helper)
    assert "One person inside at a time" in look(marek, piece="R1-1").text


def test_a_stint_of_yesterday_is_asked_about_in_the_morning(shed, helper, marek, clock):
    start_stint(helper, segment=piece(shed, "R1-1"))
    clock(22)  # Tuesday 08:00
    says = text(look(marek))
    assert "When did you stop on Monday 2 March?" in says and "Start to populate" in says
    start(marek, "R1-1")
    assert [stint.state for stint in shed.stints.all()] == [Stint.State.TO_CONFIRM, Stint.State.RUNNING]
    assert "When did you stop on Monday 2 March?" in look(marek).text


def test_a_doubtful_stint_is_not_in_today_s_hours(shed, helper, marek, clock):
    stint = start_stint(helper, segment=piece(shed, "R1-1"))
    clock(15.5)
    stints.close_forgotten(build=shed, now=hours_after(15.5))
    stint.refresh_from_db()
    assert stint.state == Stint.State.TO_CONFIRM and seen(marek).day.hours == 0


# ---- access, cost ---------------------------------------------------------------------------


def test_a_viewer_has_no_today(shed, viewer):
    assert look(client_of(viewer)).status_code == 403


def test_an_outsider_is_asked_to_sign_in(shed, outsider):
    assert look(client_of(outsider)).headers["Location"].startswith("/b/SHED/join/")


def test_htmx_gets_the_part(shed, marek):
    part = marek.get(reverse("today", args=["SHED"]), headers={"HX-Request": "true"}).text
    assert "<html" not in part and "R1-1" in part


def test_today_takes_as_many_queries_for_one_piece_as_for_all(
    shed, helper, other_helper, marek, django_assert_num_queries
):
    # session, build, person, device; board 5; day 2; others; plan, jobs, mates;
    # piece: itself, run, chain, rings, notes, plan, words of the notes
    with django_assert_num_queries(22):
        look(marek)
    work_through(piece(shed, "R4-1"), Stage.WIRE, by=other_helper)
    stint = start_stint(other_helper, segment=piece(shed, "R1-2"))
    tick(client_of(other_helper), "R1-2", 3, stint=stint.pk)
    with django_assert_num_queries(23):  # and where the others ticked
        look(marek)


# ---- what waits for the lead ----------------------------------------------------------------


@pytest.fixture
def torn(shed, helper, marek):
    say(marek, "note", segment="R1-1", says="The strap is torn.")
    return Note.objects.get()


def test_the_lead_sees_the_notes_and_the_stints_in_doubt(shed, lead, other_helper, torn):
    stint = start_stint(other_helper, segment=piece(shed, "R1-2"))
    Stint.objects.filter(pk=stint.pk).update(state=Stint.State.TO_CONFIRM, ended_at=hours_after(1))
    text = look(client_of(lead)).text
    assert "The strap is torn." in text and "1 stint to be confirmed" in text


def test_a_note_stands_on_its_piece_until_the_lead_has_dealt_with_it(shed, lead, marek, torn):
    assert "The strap is torn." in look(marek, piece="R1-1").text
    client_of(lead).post(reverse("note_settle", args=["SHED", torn.pk]))
    assert "The strap is torn." not in look(marek, piece="R1-1").text
    torn.refresh_from_db()
    assert torn.settled_by == lead


def test_a_helper_has_no_lead_s_desk_and_settles_nothing(shed, helper, marek, torn):
    assert look(marek).context["today"].desk is None
    assert marek.post(reverse("note_settle", args=["SHED", torn.pk])).status_code == 403
