"""Numbers of a tablet's row that never arrived, as the lead sees them."""

from __future__ import annotations

import pytest

from buildlog.actions import arrivals
from buildlog.core.work.envelope import LARGEST_NUMBER
from buildlog.queries.devices import devices_of
from tests.floor.conftest import outcomes
from tests.floor.tablet import Tablet
from tests.pages import text
from tests.people import MONDAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def word(tablet, helper) -> str:
    return tablet.word_of(helper, MONDAY)


def tick(tablet: Tablet, word: str):
    return tablet.entry("tick", word, MONDAY, segment="R1-1", stage="populate", pixels=5)


def missing(shed) -> int:
    (row,), _ = devices_of(shed, MONDAY)
    return row.missing


@pytest.mark.parametrize(
    "wrong", [{"id": "7"}, {"actor": "nobody"}, {"kind": "wish"}, {"data": None}], ids=["id", "actor", "kind", "data"]
)
def test_an_entry_that_cannot_be_read_has_arrived_all_the_same(shed, tablet, word, send, wrong):
    broken = tick(tablet, word) | wrong
    assert outcomes(send(tablet, [broken, tick(tablet, word)])) == ["refused", "stored"]
    assert missing(shed) == 0
    send(tablet, [broken])
    assert missing(shed) == 0


def test_a_number_that_cannot_be_read_is_missing(shed, tablet, word, send):
    send(tablet, [tick(tablet, word) | {"sequence": "1"}, tick(tablet, word)])
    assert missing(shed) == 1


def test_a_number_used_for_a_broken_and_a_good_entry_is_one_number(shed, tablet, word, send):
    entry = tick(tablet, word)
    send(tablet, [entry | {"id": "7"}, entry])
    tablet.sequence += 1  # lost on the tablet
    send(tablet, [tick(tablet, word)])
    assert missing(shed) == 1


def test_a_broken_entry_beside_one_that_trips_the_program_is_noted_too(shed, tablet, word, send, monkeypatch):
    monkeypatch.setattr(arrivals, "_decide", lambda *_: 1 / 0)
    answer = send(tablet, [tick(tablet, word) | {"id": "7"}, tick(tablet, word)])
    assert outcomes(answer) == ["refused", "refused"]
    assert shed.devices.get().unread == [1]


# ---- numbers that no tablet can have reached ------------------------------------------------


def test_an_entry_with_a_number_far_beyond_counts_and_leaves_the_row_as_it_is(shed, tablet, word, send, lead, sign_in):
    entries = [tick(tablet, word), tick(tablet, word) | {"sequence": LARGEST_NUMBER}, tick(tablet, word)]
    assert outcomes(send(tablet, entries)) == ["stored"] * 3
    assert shed.devices.get().last_sequence == 3, "the page tells the tablet to go on from there"
    assert missing(shed) == 1, "number 2 was used for nothing else"
    page = text(sign_in(lead).get("/b/SHED/devices/"))
    assert "1 entry came with a number far beyond its row" in page


def test_after_such_a_number_what_is_lost_is_still_found(shed, tablet, word, send):
    send(tablet, [tick(tablet, word) | {"sequence": LARGEST_NUMBER, "id": "7"}])
    assert shed.devices.get().unread == []
    send(tablet, [tick(tablet, word) | {"sequence": 1}])
    tablet.sequence = 4  # two are lost on the tablet: 2 and 3; 4 was the broken one's in its own eyes
    send(tablet, [tick(tablet, word)])
    assert missing(shed) == 3


def test_however_far_a_tablet_is_it_may_go_on(shed, tablet, word, send):
    tablet.sequence = LARGEST_NUMBER - 3
    for _ in range(3):
        assert outcomes(send(tablet, [tick(tablet, word)])) == ["stored"]
    assert missing(shed) == 0


def test_a_row_that_starts_late_because_the_server_came_from_an_old_copy_goes_on(shed, tablet, word, send):
    tablet.sequence = 5_000
    assert outcomes(send(tablet, [tick(tablet, word)])) == ["stored"]
    assert shed.devices.get().last_sequence == 5_001 and missing(shed) == 5_000
