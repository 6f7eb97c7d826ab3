"""When things happened, whatever the clocks say: of the tablet, of the server, and of the build's own zone."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from buildlog import access
from buildlog.actions import sign_in
from buildlog.core.work.envelope import happened_at
from buildlog.models import LedgerEntry, Stint
from tests.floor.conftest import outcomes, reasons
from tests.people import MONDAY

OFF = [timedelta(days=-400), timedelta(hours=-3), timedelta(0), timedelta(minutes=2), timedelta(days=3)]


@given(
    off=st.timedeltas(timedelta(days=-400), timedelta(days=400)),
    age=st.timedeltas(timedelta(0), timedelta(days=3)),
    delay=st.timedeltas(timedelta(0), timedelta(seconds=4)),
)
def test_how_far_the_clock_is_off_does_not_matter(off, age, delay):
    """An identity: the time is right but for the time on the way, for every offset that stays the same."""
    made = MONDAY
    sent = made + age
    found = happened_at(sent + delay, sent + off, made + off, not_before=made - timedelta(hours=1))
    assert found - made == delay


def test_nothing_happened_after_it_arrived_nor_before_somebody_signed_in():
    signed_in, now = MONDAY, MONDAY + timedelta(hours=2)
    set_back = happened_at(now, MONDAY, MONDAY + timedelta(days=1), signed_in)
    set_forward = happened_at(now, MONDAY + timedelta(days=20_000), MONDAY, signed_in)
    assert (set_back, set_forward) == (now, signed_in)


@pytest.mark.django_db
@pytest.mark.parametrize("off", OFF, ids=str)
def test_a_tick_made_offline_takes_its_true_time(shed, helper, new_tablet, send, off):
    tablet = new_tablet(off=off)
    word = tablet.word_of(helper, MONDAY)
    made = MONDAY + timedelta(hours=1)
    entry = tablet.entry("tick", word, made, segment="R1-1", stage="populate", pixels=5)
    send(tablet, [entry], at=MONDAY + timedelta(hours=30))
    stored = LedgerEntry.objects.get()
    assert (stored.at, stored.made_at) == (made, made + off)
    assert stored.arrived_at == MONDAY + timedelta(hours=30)


def begin(tablet, word, at, **data):
    stint = str(uuid.uuid4())
    return stint, tablet.entry("stint-start", word, at, stint=stint, stage="populate", segment="R1-1", **data)


@pytest.mark.django_db
@pytest.mark.parametrize("off", OFF, ids=str)
def test_a_stint_started_and_stopped_offline_takes_its_true_times(helper, new_tablet, send, off):
    tablet = new_tablet(off=off)
    word = tablet.word_of(helper, MONDAY)
    stint, start = begin(tablet, word, MONDAY + timedelta(minutes=10))
    pause = tablet.entry("stint-pause", word, MONDAY + timedelta(minutes=30), stint=stint)
    resume = tablet.entry("stint-resume", word, MONDAY + timedelta(minutes=45), stint=stint)
    stop = tablet.entry("stint-stop", word, MONDAY + timedelta(minutes=130), stint=stint)
    send(tablet, [start, pause, resume, stop], at=MONDAY + timedelta(hours=9))
    found = Stint.objects.get()
    assert found.started_at == MONDAY + timedelta(minutes=10)
    assert found.ended_at == MONDAY + timedelta(minutes=130)
    assert (found.rest_s, found.state) == (15 * 60, Stint.State.CLOSED)


@pytest.mark.django_db
def test_a_shift_across_the_change_of_clocks_has_its_true_length(shed, helper, tablet, send):
    """Oslo, Sun 2026-10-25: 03:00 summer time becomes 02:00. 22:00 to 06:00 on the wall are nine hours.

    Source: IANA time zone data, rule EU (last Sunday of October, 01:00 UTC).
    """
    start_at = datetime(2026, 10, 24, 20, 0, tzinfo=UTC)
    stop_at = datetime(2026, 10, 25, 5, 0, tzinfo=UTC)
    word = tablet.word_of(helper, start_at)
    stint, start = begin(tablet, word, start_at)
    tick = tablet.entry("tick", word, stop_at, segment="R1-1", stage="populate", pixels=5, stint=stint)
    stop = tablet.entry("stint-stop", word, stop_at, stint=stint)
    send(tablet, [start, tick, stop], at=stop_at)
    found = Stint.objects.get()
    assert found.ended_at - found.started_at == timedelta(hours=9)
    assert found.state == Stint.State.CLOSED  # past midnight, but with a tick


@pytest.mark.django_db
def test_the_doubled_hour_can_be_entered_with_a_choice(shed, helper, tablet, send):
    now = datetime(2026, 10, 25, 9, 0, tzinfo=UTC)
    word = tablet.word_of(helper, now)
    stint, start = begin(tablet, word, now)
    send(tablet, [start], at=now)
    times = {"stint": stint, "start": "2026-10-25T02:30", "end": "2026-10-25T02:45"}
    tries = [times, times | {"start_fold": 0, "end_fold": 1}, times | {"start": "2026-03-29 02:30", "end_fold": 1}]
    answer = send(tablet, [tablet.entry("stint-correct", word, now, **data) for data in tries], at=now)
    assert outcomes(answer) == ["refused", "stored", "refused"]
    assert "comes twice in Europe/Oslo" in reasons(answer)[0]
    assert "does not exist in Europe/Oslo" in reasons(answer)[2]
    found = Stint.objects.get()
    assert found.ended_at - found.started_at == timedelta(minutes=75)


@pytest.mark.django_db
def test_a_correction_keeps_the_old_times_on_record(shed, helper, tablet, send):
    word = tablet.word_of(helper, MONDAY)
    stint, start = begin(tablet, word, MONDAY)
    later = MONDAY + timedelta(hours=3)
    stop = tablet.entry("stint-stop", word, later, stint=stint)
    correct = tablet.entry(
        "stint-correct", word, later, stint=stint, start="2026-03-02T10:00", end="2026-03-02T12:30", break_min=20
    )
    assert outcomes(send(tablet, [start, stop, correct], at=later)) == ["stored"] * 3
    kept = shed.records.get(verb="correct stint").detail
    assert kept["old"]["ended_at"] == later.isoformat()
    assert Stint.objects.get().rest_s == 20 * 60


@pytest.mark.django_db
def test_an_end_in_the_future_is_refused(helper, tablet, send):
    word = tablet.word_of(helper, MONDAY)
    stint, start = begin(tablet, word, MONDAY)
    correct = tablet.entry("stint-correct", word, MONDAY, stint=stint, start="2026-03-02 09:00", end="2026-03-02 23:00")
    assert outcomes(send(tablet, [start, correct])) == ["stored", "refused"]


@pytest.mark.django_db
def test_the_servers_clock_set_back_an_hour_loses_nothing_and_asks(shed, helper, tablet, send):
    """Two hours of work; the server's clock, an hour fast at the start, was put right meanwhile."""
    word = tablet.word_of(helper, MONDAY)
    stint, start = begin(tablet, word, MONDAY)
    tick = tablet.entry("tick", word, MONDAY, segment="R1-1", stage="populate", pixels=5, stint=stint)
    send(tablet, [start, tick], at=MONDAY, clock=MONDAY + timedelta(hours=1))
    ended = MONDAY + timedelta(hours=2)
    more = tablet.entry("tick", word, ended, segment="R1-1", stage="populate", pixels=7, stint=stint)
    stop = tablet.entry("stint-stop", word, ended, stint=stint)
    assert outcomes(send(tablet, [more, stop], at=ended)) == ["stored", "stored"]
    assert shed.segments.get(code="R1-1").populated == 12
    found = Stint.objects.get()
    assert found.state == Stint.State.TO_CONFIRM
    assert found.doubt.startswith("The server's clock saw it last 1.0 h, the tablet's 2.0 h")


@pytest.mark.django_db
def test_the_servers_clock_set_forward_an_hour_loses_nothing_and_asks(shed, helper, tablet, send):
    """Two hours of work, and the server's clock runs an hour ahead at their end."""
    word = tablet.word_of(helper, MONDAY)
    stint, start = begin(tablet, word, MONDAY)
    tick = tablet.entry("tick", word, MONDAY, segment="R1-1", stage="populate", pixels=5, stint=stint)
    send(tablet, [start, tick], at=MONDAY)
    ended = MONDAY + timedelta(hours=2)
    more = tablet.entry("tick", word, ended, segment="R1-1", stage="populate", pixels=7, stint=stint)
    stop = tablet.entry("stint-stop", word, ended, stint=stint)
    assert outcomes(send(tablet, [more, stop], at=ended, clock=ended + timedelta(hours=1))) == ["stored", "stored"]
    assert shed.segments.get(code="R1-1").populated == 12
    found = Stint.objects.get()
    assert found.state == Stint.State.TO_CONFIRM
    assert found.doubt.startswith("The server's clock saw it last 3.0 h, the tablet's 2.0 h")


@pytest.mark.django_db
@pytest.mark.parametrize("jump", [timedelta(hours=-1), timedelta(hours=1)], ids=["back", "forward"])
def test_after_the_servers_clock_jumped_people_come_in_and_tick(shed, helper, lead, tablet, send, server_clock, jump):
    server_clock(MONDAY)
    word, pin = tablet.word_of(helper, MONDAY), sign_in.issue_pin(helper, lead, MONDAY)
    client = Client(raise_request_exception=False)
    client.cookies[access.device_cookie(shed)] = tablet.key
    enter = reverse("enter", args=["SHED", helper.pk])
    assert client.post(enter, {"pin": "000000" if pin != "000000" else "111111"}).status_code == 422
    tick = tablet.entry("tick", word, MONDAY, segment="R1-1", stage="populate", pixels=5)
    assert outcomes(send(tablet, [tick], at=MONDAY)) == ["stored"]
    server_clock(MONDAY + jump)
    assert client.post(enter, {"pin": pin}).status_code == 302, "nobody waits for the clock to come round again"
    for screen in ("today", "sphere", "hours", "forecast"):
        assert client.get(reverse(screen, args=["SHED"])).status_code == 200
    more = tablet.entry("tick", word, MONDAY, segment="R1-1", stage="populate", pixels=7)
    again = send(tablet, [tick, more], at=MONDAY + timedelta(minutes=1), clock=MONDAY + jump)
    assert outcomes(again) == ["had", "stored"]


@pytest.mark.django_db
def test_a_stop_before_the_start_by_the_servers_clock_is_asked_about(helper, tablet, send):
    word = tablet.word_of(helper, MONDAY - timedelta(days=1))
    stint, start = begin(tablet, word, MONDAY)
    send(tablet, [start], at=MONDAY)
    stop = tablet.entry("stint-stop", word, MONDAY + timedelta(minutes=20), stint=stint)
    answer = send(tablet, [stop], at=MONDAY + timedelta(minutes=20), clock=MONDAY - timedelta(minutes=40))
    assert outcomes(answer) == ["stored"]
    assert Stint.objects.get().state == Stint.State.TO_CONFIRM


@pytest.mark.django_db
def test_a_start_right_after_a_stop_that_travelled_slowly_is_no_overlap(helper, tablet, send):
    word = tablet.word_of(helper, MONDAY)
    first, start = begin(tablet, word, MONDAY)
    send(tablet, [start])
    stopped = MONDAY + timedelta(hours=1)
    stop = tablet.entry("stint-stop", word, stopped, stint=first)
    send(tablet, [stop], at=stopped, clock=stopped + timedelta(seconds=4))
    _, again = begin(tablet, word, stopped + timedelta(seconds=1))
    assert outcomes(send(tablet, [again], at=stopped + timedelta(seconds=1))) == ["stored"]
    one, other = Stint.objects.order_by("started_at")
    assert one.ended_at == other.started_at


@pytest.mark.django_db
def test_a_forgotten_stint_does_not_keep_anybody_from_the_next(helper, tablet, send):
    word = tablet.word_of(helper, MONDAY)
    _, start = begin(tablet, word, MONDAY)
    send(tablet, [start])
    tuesday = MONDAY + timedelta(days=1)
    _, again = begin(tablet, word, tuesday)
    assert outcomes(send(tablet, [again], at=tuesday)) == ["stored"]
    assert [s.state for s in Stint.objects.order_by("started_at")] == [Stint.State.TO_CONFIRM, Stint.State.RUNNING]
