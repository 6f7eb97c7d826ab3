"""The whole plan as one JSON document: the ball, and what follows from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from buildlog.core.plan.materials.cutting import CutList
from buildlog.core.plan.materials.mass import Mass, mass_of
from buildlog.core.plan.materials.supplies import Item, supplies_of
from buildlog.core.plan.plan import BallPlan
from buildlog.core.plan.wiring.chains import channel_table, compare_ways
from buildlog.core.plan.wiring.power import Power, power_of


def whole_json(plan: BallPlan, build: str | None = None, cutting: CutList | None = None) -> dict[str, Any]:
    """``BallPlan.as_json`` with labels, refresh rates and lead wires on the channels, and with ``ways``, ``cutting``,
    ``power``, ``mass`` and ``supplies`` beside them. ``cutting`` stays null without a cut list, for it takes seconds.
    """
    out, power = plan.as_json(build), power_of(plan)
    for entry, row in zip(out["channels"], channel_table(plan), strict=True):
        entry |= {"label": row.label, "refresh_hz": row.refresh_hz, "lead_m": row.lead_m}
    out["ways"] = [asdict(way) for way in compare_ways(plan)]
    out["cutting"] = None if cutting is None else cutting.as_json()
    out["power"] = power_json(power)
    out["mass"] = mass_json(mass_of(plan))
    out["supplies"] = supplies_json(supplies_of(plan, power, cutting))
    out["warnings"] += power.warnings
    return out


def power_json(power: Power) -> dict[str, Any]:
    """Power as plain lists and dicts; the parameters as readings corrected them are under ``used``."""
    out = asdict(power)
    out["levels"] = {level.pop("level"): level for level in out["levels"]}
    return out


def mass_json(mass: Mass) -> dict[str, Any]:
    return {"total_kg": mass.total_kg, **asdict(mass), "aside_m": mass.aside_m}


def supplies_json(items: Sequence[Item]) -> list[dict[str, Any]]:
    return [{**asdict(item), "get": item.get, "cost": item.cost} for item in items]
