"""Nothing ticked is lost or counted twice, whatever happens on the way; and proof that these tests would notice.

Twenty tablets with wrong clocks make 250 entries each; more than 40 % of their requests are cut before or after the
server did its part, come too late, or twice at once; server and workers are killed every few seconds; tablets lose
all but their queue. Afterwards the tablets' own register is held against ledger, sums and answers.
"""

from __future__ import annotations

import pytest
from django.db import connection

from tests.floor.workday import workday

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("seed", [1, *(pytest.param(seed, marks=pytest.mark.long) for seed in (2, 3))])
def test_nothing_is_lost_and_nothing_counts_twice(shed, seed):
    day = workday(shed, seed, tablets=20, entries=250)
    print(f"seed {seed}: {day.requests} requests, {day.faults} faults, {day.kills} kills: {day.wrongs or 'all right'}")
    assert day.wrongs == {}
    assert day.faults / day.requests > 0.4
    assert day.kills > 0


@pytest.mark.long
def test_thirty_kills_lose_nothing(shed):
    """Some two minutes of work without a pause, the server killed every few seconds (SIGKILL)."""
    day = workday(shed, 4, tablets=12, entries=100, least_kills=30)
    print(f"{day.requests} requests, {day.kills} kills: {day.wrongs or 'all right'}")
    assert day.wrongs == {} and day.kills >= 30


def test_without_the_id_entries_are_doubled(shed):
    wrongs = workday(shed, 1, tablets=6, entries=40, without_guard="id", kills=False).wrongs
    assert wrongs["doubled"] > 0 and wrongs["wrong_sums"] > 0


def test_without_the_age_times_are_wrong(shed):
    assert workday(shed, 1, tablets=6, entries=10, without_guard="age", kills=False).wrongs["wrong_time"] > 0


def test_without_the_queue_entries_are_lost(shed):
    assert workday(shed, 1, tablets=6, entries=40, without_guard="queue", kills=False).wrongs["lost"] > 0


def test_without_one_transaction_the_sums_go_wrong(shed):
    wrongs = workday(shed, 1, tablets=6, entries=20, without_guard="transaction", kills=False).wrongs
    assert wrongs.get("wrong_fold") or wrongs.get("wrong_sums") or wrongs.get("lost")


@pytest.mark.skipif(connection.vendor == "sqlite", reason="SQLite lets one writer in at a time, lock or no lock")
def test_without_the_lock_updates_are_lost(shed):
    # One piece for all: with several, transactions without a lock in front wait for each other in a ring.
    wrongs = workday(shed, 1, tablets=8, entries=60, pieces=1, without_guard="lock", kills=False).wrongs
    assert wrongs["wrong_fold"] > 0
