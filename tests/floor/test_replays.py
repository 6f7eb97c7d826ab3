"""The same entries again and again, in any order, from many devices at once: the same state, each time."""

from __future__ import annotations

import threading
import uuid
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from random import Random

import pytest
from django.db import connection, transaction

from buildlog.actions import arrivals
from buildlog.core.work.envelope import Batch
from buildlog.models import Arrival, LedgerEntry, Stint, StintMember
from tests.floor.tablet import Tablet
from tests.people import MONDAY, give_device, join_crew

CODES = ("R1-1", "R1-2", "R2-1")


def crew_of(build, number: int) -> list[tuple[Tablet, str]]:
    """Tablets, each with the word of a helper of its own."""
    found = []
    for n in range(number):
        device, key = give_device(build, f"Tablet {n}")
        tablet = Tablet(device, key, timedelta(hours=n), Random(n))
        found.append((tablet, tablet.word_of(join_crew(build, f"Helper {n}"), MONDAY)))
    return found


def made_by(crew: Iterable[tuple[Tablet, str]], number: int, chance: Random) -> list[tuple[Tablet, dict]]:
    """Ticks that nothing stands in the way of, so that their order says nothing."""
    return [
        (
            tablet,
            tablet.entry(
                "tick", word, MONDAY, segment=chance.choice(CODES), stage="populate", pixels=chance.randint(1, 3)
            ),
        )
        for _ in range(number)
        for tablet, word in crew
    ]


def deliver(entries: Iterable[tuple[Tablet, dict]], now: datetime = MONDAY) -> list[str]:
    """Each entry in a batch of its own."""
    return [
        arrivals.receive(device=tablet.device, batch=Batch.read(tablet.batch([entry], now)), now=now)[0].outcome
        for tablet, entry in entries
    ]


def state_of(build):
    sums = dict(build.segments.values_list("code", "populated"))
    return sums, set(LedgerEntry.objects.values_list("pk", "actor_id", "pixels", "at"))


@pytest.fixture
def roomy(shed):
    shed.segments.update(pixels=100_000)
    return shed


@pytest.mark.django_db
def test_any_order_gives_the_same_state(roomy):
    """Eight devices, their entries forwards, backwards, and interleaved at random."""
    made = made_by(crew_of(roomy, 8), 5, Random(1))
    orders = [made, made[::-1], *(Random(seed).sample(made, len(made)) for seed in range(6))]
    states = []
    for order in orders:
        with transaction.atomic():
            assert set(deliver(order)) == {"stored"}
            states.append(state_of(roomy))
            transaction.set_rollback(True)
    assert all(state == states[0] for state in states)
    assert sum(states[0][0].values()) == sum(entry["data"]["pixels"] for _, entry in made)


@pytest.mark.django_db
def test_a_hundred_replays_change_nothing(roomy):
    crew = crew_of(roomy, 3)
    made = made_by(crew, 6, Random(2))
    tablet, entry = made[0]
    made.append((tablet, tablet.entry("undo", crew[0][1], MONDAY, undoes=entry["id"])))
    made.append((tablet, tablet.entry("tick", crew[0][1], MONDAY, segment="R99-1", stage="populate", pixels=1)))
    first = deliver(made)
    before = state_of(roomy)
    assert first == ["stored"] * (len(made) - 1) + ["refused"]
    for turn in range(100):
        order = made[::-1] if turn % 2 else Random(turn).sample(made, len(made))
        again = deliver(order, MONDAY + timedelta(hours=turn))
        assert sorted(again) == sorted(["had"] * (len(made) - 1) + ["refused"])
    assert state_of(roomy) == before
    assert Arrival.objects.count() == len(made)


def at_once(number: int, act: Callable[[int], str]) -> list[str]:
    """Let so many threads begin at the same moment."""
    start = threading.Barrier(number)

    def one(n: int) -> str:
        try:
            start.wait(30)
            return act(n)
        finally:
            connection.close()

    with ThreadPoolExecutor(number) as pool:
        return list(pool.map(one, range(number)))


@pytest.mark.django_db(transaction=True)
def test_eight_devices_replaying_at_once_change_nothing(roomy):
    """The same entries from eight threads at once, each in an order of its own: stored by one of them, once."""
    made = made_by(crew_of(roomy, 4), 5, Random(3))
    at_once(8, lambda n: "".join(deliver(Random(n).sample(made, len(made)))))
    sums, ledger = state_of(roomy)
    assert len(ledger) == len(made)
    assert sum(sums.values()) == sum(entry["data"]["pixels"] for _, entry in made)


@pytest.mark.django_db(transaction=True)
def test_of_fifty_stints_started_at_once_there_is_one(roomy):
    """One helper, fifty devices, one moment."""
    helper, now = join_crew(roomy, "Marek"), datetime.now(UTC)
    tablets = [Tablet(*give_device(roomy, f"Tablet {n}"), chance=Random(n)) for n in range(50)]
    starts = [
        (one, one.entry("stint-start", one.word_of(helper, now), now, stint=str(uuid.uuid4()), stage="populate"))
        for one in tablets
    ]
    found = at_once(50, lambda n: deliver([starts[n]], now)[0])
    assert sorted(found) == ["refused"] * 49 + ["stored"]
    assert Stint.objects.count() == StintMember.objects.filter(open=True).count() == 1
