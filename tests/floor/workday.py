"""Tablets at work through the fault maker, and the reckoning afterwards: what was made against what is on file."""

from __future__ import annotations

import json
import threading
import time
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from random import Random
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import connection

from buildlog import access
from buildlog.core.work.envelope import LONGEST_BATCH
from buildlog.core.work.ledger import Entry, LedgerKind, fold
from buildlog.core.work.stages import Stage
from buildlog.models import Arrival, Build, LedgerEntry
from tests.floor.faults import Killer, ServerGroup, Wire
from tests.floor.tablet import Tablet
from tests.people import give_device, join_crew

LONGEST_S = 420  # some 20 s on two idle cores
AT_ONCE, LONGEST_ON_THE_WAY = timedelta(seconds=1), timedelta(seconds=60)  # a request may queue on a busy machine
ROOMY = 1_000_000  # pixels a segment, so that no count is ever too many


@dataclass
class Worker:
    """One tablet in somebody's hands. ``disk`` is all that is left of it when it is restarted."""

    tablet: Tablet
    word: str
    codes: list[str]
    wire: Wire
    chance: Random
    entries: int
    keeps_queue: bool = True
    until: Callable[[], bool] = lambda: True  # goes on with as many more entries as it takes
    disk: str = "[]"
    made: dict[str, dict[str, Any]] = field(default_factory=dict)  # the register: every entry, by id
    made_at: dict[str, datetime] = field(default_factory=dict)  # and when it was truly made
    said: dict[str, str] = field(default_factory=dict)  # what the server said of it last
    trouble: list[str] = field(default_factory=list)

    def work(self) -> None:
        queue: list[dict[str, Any]] = []
        while (wanted := self._wanted()) or queue:
            queue += [self._make() for _ in range(min(self.chance.randint(3, 14), wanted))]
            self.disk = json.dumps(queue)
            if self.chance.random() < 0.05:  # the battery is empty, the tab is killed
                queue = json.loads(self.disk) if self.keeps_queue else []
            queue = self._send(queue)
            self.disk = json.dumps(queue)

    def _wanted(self) -> int:
        return max(0, self.entries - len(self.made)) or (0 if self.until() else 3)

    def _make(self) -> dict[str, Any]:
        now = datetime.now(UTC)
        entry = self._undo(now) if self.chance.random() < 0.08 else None
        entry = entry or self._tick(now)
        self.made[entry["id"]], self.made_at[entry["id"]] = entry, now
        return entry

    def _tick(self, now: datetime) -> dict[str, Any]:
        code = "R99-1" if self.chance.random() < 0.03 else self.chance.choice(self.codes)
        pixels = self.chance.randint(1, 9)
        return self.tablet.entry("tick", self.word, now, segment=code, stage="populate", pixels=pixels)

    def _undo(self, now: datetime) -> dict[str, Any] | None:
        undone = {entry["data"]["undoes"] for entry in self.made.values() if entry["kind"] == "undo"}
        ticks = [e for e in self.made.values() if is_good(e) and e["kind"] == "tick" and e["id"] not in undone]
        if not ticks:
            return None
        return self.tablet.entry("undo", self.word, now, undoes=self.chance.choice(ticks)["id"])

    def _send(self, queue: list[dict[str, Any]]) -> list[dict[str, Any]]:
        if not queue:
            return queue
        some = queue[:LONGEST_BATCH]
        batch = self.tablet.batch(some, datetime.now(UTC), waiting=len(queue))
        try:
            results = self.wire.post(batch)["results"]
        except OSError:
            time.sleep(self.chance.uniform(0.02, 0.15))
            return queue if self.keeps_queue else queue[len(some) :]
        said = {result["id"]: result["outcome"] for result in results}
        self.said |= said
        return [entry for entry in queue if entry["id"] not in said]


def is_good(entry: dict[str, Any]) -> bool:
    return entry["data"].get("segment") != "R99-1"


@dataclass
class Reckoning:
    """What went wrong: every list is empty after a good day."""

    lost: list[str]
    acknowledged_lost: list[str]
    doubled: list[str]
    wrong_sums: list[str]
    wrong_fold: list[str]
    wrong_time: list[str]
    wrong_answer: list[str]
    requests: int = 0
    faults: int = 0
    kills: int = 0

    @property
    def wrongs(self) -> dict[str, int]:
        lists = {name: len(found) for name, found in vars(self).items() if isinstance(found, list)}
        return {name: number for name, number in lists.items() if number}


def address_of_test_database() -> str:
    settled = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{settled['NAME']}"
    return "postgres://{USER}:{PASSWORD}@{HOST}:{PORT}/{NAME}".format(**settled)


def hire(
    build: Build, group: ServerGroup, chance: Random, late: ThreadPoolExecutor, number: int, entries: int, pieces: int
) -> list[Worker]:
    """Tablets with helpers; their clocks are off by up to −400 … +3 days. All tick the same few segments."""
    build.segments.update(pixels=ROOMY)
    codes = list(build.segments.values_list("code", flat=True))[:pieces]
    workers = []
    for n in range(number):
        device, key = give_device(build, f"Tablet {n}")
        helper = join_crew(build, f"Helper {n}")
        off = timedelta(days={0: -400, 1: 3}.get(n, chance.choice([0, chance.uniform(-400, 3)])))
        tablet = Tablet(device, key, off, Random(chance.random()))
        wire = Wire(
            group, f"/b/{build.code}/entries/", f"{access.device_cookie(build)}={key}", Random(chance.random()), late
        )
        word = tablet.word_of(helper, datetime.now(UTC))
        workers.append(Worker(tablet, word, codes, wire, Random(chance.random()), entries))
    return workers


def workday(
    build: Build, seed: int, *, tablets: int, entries: int, pieces: int = 6, without_guard: str = "",
    kills: bool = True, least_kills: int = 0, until: Callable[[], bool] = lambda: True,
) -> Reckoning:  # fmt: skip
    """A day of faults, at least until so many kills and something else have happened; then the reckoning."""
    chance = Random(seed)
    environment = {"DATABASE_URL": address_of_test_database(), "BUILDLOG_DATA": str(settings.DATA_DIR)}
    group = ServerGroup(environment, without_guard if without_guard != "queue" else "")
    late = ThreadPoolExecutor(32)
    workers = hire(build, group, chance, late, tablets, entries, pieces)
    for worker in workers:
        worker.keeps_queue = without_guard != "queue"
        worker.until = lambda: group.kills >= least_kills and until()
    connection.close()
    killer = Killer(group, Random(chance.random()))
    try:
        group.start()
        if kills:
            killer.start()
        _let_them_work(workers)
        late.shutdown(wait=True)
    finally:
        killer.over.set()
        if killer.ident:
            killer.join()
        group.close()
    return reckon(build, workers, group)


def _let_them_work(workers: list[Worker]) -> None:
    def work(worker: Worker) -> None:
        try:
            worker.work()
        except Exception as trouble:
            worker.trouble.append(repr(trouble))

    threads = [threading.Thread(target=work, args=[worker], daemon=True) for worker in workers]
    for thread in threads:
        thread.start()
    end = time.monotonic() + LONGEST_S
    for thread in threads:
        thread.join(max(0, end - time.monotonic()))
    assert not any(thread.is_alive() for thread in threads), "a tablet never came to its end"
    assert not (found := [trouble for worker in workers for trouble in worker.trouble]), found


def reckon(build: Build, workers: list[Worker], group: ServerGroup) -> Reckoning:
    made = {i: entry for worker in workers for i, entry in worker.made.items()}
    true_time = {i: at for worker in workers for i, at in worker.made_at.items()}
    said = {i: outcome for worker in workers for i, outcome in worker.said.items()}
    good = {i for i, entry in made.items() if is_good(entry)}
    rows = list(build.entries.select_related("segment"))
    on_file = {str(row.pk): row for row in rows}
    shown = {s.code: s.populated for s in build.segments.all()}
    return Reckoning(
        lost=sorted(good - on_file.keys()),
        acknowledged_lost=sorted(i for i, o in said.items() if o in ("stored", "had") and i not in on_file),
        doubled=sorted(on_file.keys() - good) + [i for i, n in Counter(r.pk for r in rows).items() if n > 1],
        wrong_sums=_differences(shown, _expected(made, good)),
        wrong_fold=_differences(shown, _folded(rows)),
        wrong_time=[
            i for i, row in on_file.items()
            if i in true_time and not -AT_ONCE < row.at - true_time[i] < LONGEST_ON_THE_WAY
        ],
        wrong_answer=_wrong_answers(made, good, said),
        requests=sum(worker.wire.requests for worker in workers),
        faults=sum(worker.wire.faults for worker in workers),
        kills=group.kills,
    )  # fmt: skip


def _expected(made: dict[str, dict[str, Any]], good: set[str]) -> Counter[str]:
    """The sums by the tablets' own register, without any look at the server."""
    sums: Counter[str] = Counter()
    for i in good:
        entry = made[i]
        tick = made[entry["data"]["undoes"]] if entry["kind"] == "undo" else entry
        sums[tick["data"]["segment"]] += tick["data"]["pixels"] * (-1 if entry["kind"] == "undo" else 1)
    return sums


def _folded(rows: list[LedgerEntry]) -> Counter[str]:
    entries = [Entry(r.pk, r.segment.code, Stage(r.stage), r.pixels, LedgerKind(r.kind), r.undoes_id) for r in rows]
    return Counter({code: total for (code, _), total in fold(entries).items()})


def _differences(found: dict[str, int], wanted: Counter[str]) -> list[str]:
    return [f"{code}: {found[code]}, not {wanted[code]}" for code in found if found[code] != wanted[code]]


def _wrong_answers(made: dict[str, Any], good: set[str], said: dict[str, str]) -> list[str]:
    """Good ones stored, bad ones refused, every one answered, and what became of it on file."""
    wrong = [i for i in made if (said.get(i) == "refused") == (i in good)]
    kept = {str(pk): outcome for pk, outcome in Arrival.objects.values_list("pk", "outcome")}
    return wrong + [i for i in made if kept.get(i) != ("stored" if i in good else "refused") and UUID(i)]
