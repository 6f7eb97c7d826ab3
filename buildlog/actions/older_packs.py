"""Packs of releases that kept no rings: these are computed once as such a pack is taken in, and its rows hold."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from buildlog.core.errors import Refused
from buildlog.core.pack import Pack, PackedTable
from buildlog.core.plan.on_file import on_file
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.parts import PlannedChannel, PlannedRing, PlannedRun, PlannedSegment
from buildlog.models.plan import RING_FIELDS

Row = dict[str, Any]


def with_rings(pack: Pack) -> Pack:
    """The pack with rings, with segments on them, with where each run begins, and with what is built."""
    plans, segments, runs = (_rows(pack.tables[name]) for name in ("plans", "segments", "runs"))
    try:
        channels = _place(runs, segments)
        rings = list(_rings(plans, segments, channels))
    except (KeyError, TypeError, ValueError, IndexError, AttributeError, Refused):
        return pack  # what does not fit is named as the rows are taken in
    tables = dict(pack.tables)
    for name, rows in (("plans", plans), ("segments", segments), ("runs", runs), ("rings", rings)):
        columns = tables[name].columns
        tables[name] = PackedTable(columns, tuple(tuple(row[column] for column in columns) for row in rows))
    return Pack(tables)


def _rows(table: PackedTable) -> list[Row]:
    return [dict(zip(table.columns, row, strict=True)) for row in table.rows]


def _place(runs: list[Row], segments: list[Row]) -> tuple[PlannedChannel, ...]:
    """Put the pixel at which it begins on each run; the channels that they make."""
    chains: dict[int, list[PlannedRun]] = {}
    for run in sorted(runs, key=lambda run: (run["channel"], run["position"])):
        chain = chains.setdefault(run["channel"], [])
        run["begins"] = 1 + sum(before.pixels for before in chain)
        chain.append(PlannedRun(segments[run["segment"] - 1]["code"], run["first"], run["last"], run["reversed"]))
    return tuple(PlannedChannel(number, tuple(chain)) for number, chain in sorted(chains.items()))


def _rings(plans: list[Row], segments: list[Row], channels: tuple[PlannedChannel, ...]) -> Iterator[Row]:
    """Rings of every revision. A segment was retired by the revision after its own, at the same moment."""
    places = sorted(range(len(plans)), key=lambda place: plans[place]["revision"])
    number = 0
    for at, place in enumerate(places):
        plan, later = plans[place], plans[places[at + 1]] if at + 1 < len(places) else None
        own = [row for row in segments if row["lies_on"] is None and _of(row, later)]
        current = sorted((_planned(row) for row in own if later is None and row["retired_at"] is None), key=_by_place)
        rings, built = on_file(PlanParameters.from_json(plan["parameters"]), current, channels if current else ())
        for row in own:
            row["lies_on"] = number + min(row["ring"], len(rings))
        if plan["frozen_at"] is not None:
            plan["built"] = built.to_json()
        yield from (_row(ring, place + 1) for ring in rings)
        number += len(rings)


def _of(row: Row, later: Row | None) -> bool:
    if later is None:
        return True
    return row["retired_at"] is not None and _moment(row["retired_at"]) <= _moment(later["created_at"])


def _moment(text: str) -> datetime:
    return datetime.fromisoformat(text)


def _by_place(segment: PlannedSegment) -> tuple[int, int]:
    return segment.ring, segment.piece


def _planned(row: Row) -> PlannedSegment:
    names = ("ring", "piece", "first_pixel", "pixels", "from_deg", "to_deg", "closing")
    return PlannedSegment(*(row[name] for name in names))


def _row(ring: PlannedRing, plan: int) -> Row:
    return {"plan": plan, **{name: getattr(ring, name) for name in RING_FIELDS}}
