"""Batches bent at random: whatever comes, the answer is one of those agreed, and the ledger adds up."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from datetime import timedelta
from random import Random
from typing import Any

import pytest

from buildlog.actions import arrivals
from buildlog.core.work.stages import STAGES
from buildlog.models import Arrival, LedgerEntry
from buildlog.queries.audit import differences
from tests.floor.conftest import post_batch
from tests.people import MONDAY

pytestmark = pytest.mark.django_db

NASTY = (
    None, True, False, 0, -1, 1.5, 2**31, 2**53 - 1, 2**53, 2**63, 2**64, 10**30, -(2**63), 1e308, "", " ", "\x00",
    "R1-1\x00", "\ud800", "🎈" * 50, "x" * 5_000, "NaN", "1", "٣", [], {}, [[]], {"a": {"b": []}}, "tick", "populate",
    "' OR 1=1; --", "00000000-0000-0000-0000-000000000000", "c0ffee00-0000-4000-8000-000000000000", ["R1-1"] * 40,
    "=1+1", "\u202e", "\n",
)  # fmt: skip
KINDS = ("tick", "tick", "tick", "undo", "note", "stint-start", "stint-stop", "stint-pause", "stint-resume")
AGREED = {200, 400, 409, 413}
ROUNDS = 100


def places(value: Any, way: tuple = ()) -> Iterator[tuple]:
    """Every place in a document, the document itself last."""
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in inside:
        yield from places(inner, (*way, key))
    yield way


def bent(document: dict, chance: Random) -> Any:
    """A copy with something else in one to three places, or with a place taken away, or there twice."""
    found = copy.deepcopy(document)
    for _ in range(chance.choice((1, 1, 2, 3))):
        *way, last = chance.choice([place for place in places(found) if place] or [()]) or (None,)
        holder = found
        for key in way:
            holder = holder[key]
        if last is None:
            continue
        act = chance.randrange(4)
        if act == 0 and isinstance(holder, dict):
            del holder[last]
        elif act == 1 and isinstance(holder, list):
            holder.append(copy.deepcopy(holder[last]))
        else:
            holder[last] = copy.deepcopy(chance.choice(NASTY))
    return found


def entry_of(kind: str, tablet, word: str, chance: Random, known: list[str]) -> dict[str, Any]:
    at = MONDAY + timedelta(minutes=chance.randrange(-600, 600))
    some = chance.choice(known) if known else tablet.new_id()
    where = {"segment": chance.choice(("R1-1", "R2-1", "R3-1", "R9-9")), "stage": chance.choice(STAGES[:3])}
    data: dict[str, Any] = {
        "tick": where | {"pixels": chance.randrange(1, 10)},
        "undo": {"undoes": some},
        "note": {"segment": "R1-1", "says": "дырка «7»"},
        "stint-start": {"stint": tablet.new_id(), "stage": "populate", "segment": "R1-1"},
    }.get(kind, {"stint": some})  # fmt: skip
    known += [data["stint"]] if kind == "stint-start" else []
    entry = tablet.entry(kind, word, at, **data)
    known += [entry["id"]] if kind == "tick" else []
    return entry


@pytest.mark.parametrize("seed", range(3))
def test_bent_batches_are_answered_as_agreed_and_the_ledger_adds_up(shed, helper, tablet, send, monkeypatch, seed):
    monkeypatch.setattr("buildlog.views.entries.PACE.most", 10**6)
    chance, known, told = Random(seed), [], {}
    word = tablet.word_of(helper, MONDAY)
    send(tablet, [])  # sets the clock
    for _ in range(ROUNDS):
        entries = [entry_of(chance.choice(KINDS), tablet, word, chance, known) for _ in range(chance.randrange(4))]
        batch = tablet.batch(entries, MONDAY)
        body = json.dumps(batch if chance.random() < 0.5 else bent(batch, chance))
        answer = post_batch(tablet, body)
        assert answer.status_code in AGREED, (body[:300], answer.content[:300])
        if answer.status_code != 200:
            assert len(answer.json()["problem"]) > 15
            continue
        for one in answer.json()["results"]:
            assert one["reason"] != arrivals.OWN_FAULT, (body[:600], one)
            assert one["reason"] or one["outcome"] in ("stored", "had"), one
            told.setdefault(one["id"], set()).add(one["outcome"])
        repeated = post_batch(tablet, body).json()["results"]
        assert not any(one["outcome"] == "stored" for one in repeated), "nothing counts twice"
    stored = {key for key, outcomes in told.items() if "stored" in outcomes}
    on_file = set(map(str, Arrival.objects.filter(outcome="stored").values_list("id", flat=True)))
    assert stored == on_file and len(stored) > ROUNDS / 10
    assert set(map(str, LedgerEntry.objects.values_list("id", flat=True))) <= stored
    assert differences(shed) == []
