"""`plan`: a plan from options or a ring table, printed, or kept as a build."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from django.db import transaction
from django.utils import timezone

from buildlog.actions import builds, plans
from buildlog.core.errors import Refused
from buildlog.core.plan.kinds import PEOPLE, SWITCH
from buildlog.core.plan.materials.cutting import cut_list
from buildlog.core.plan.parameter import Parameter
from buildlog.core.plan.parameter_table import PARAMETERS, MeasuredRing
from buildlog.core.plan.parse import read_options
from buildlog.core.plan.plan import BallPlan, PlanParameters, compute
from buildlog.core.plan.whole import whole_json
from buildlog.core.units import show_length
from buildlog.files import kinds
from buildlog.management.asking import Asking, content_of
from buildlog.management.options import OptionParser


class Command(Asking):
    help = "Compute a plan. Lengths accept 2.6m, 30mm, 8ft, 1in; a bare number is metres."

    def add_options(self, parser: OptionParser) -> None:
        for parameter in PARAMETERS:
            _add(parser, parameter)
        parser.add_argument(
            "--rings", type=Path, metavar="FILE.csv", help="a measured ring table instead of the formula"
        )
        parser.add_argument("--save", metavar="CODE", help="keep the plan, frozen, as a new build with this code")
        parser.add_argument("--draft", action="store_true", help="with --save: do not freeze it yet")
        parser.add_argument("--name", default="", help="with --save: the build's name")
        parser.add_argument("--place", default="", help="with --save: where it is built")
        parser.add_argument("--time-zone", default="UTC", metavar="ZONE", help="with --save: like Europe/Lisbon")
        parser.add_argument("--json", action="store_true", help="print one JSON document and nothing else")

    def answer(self, *, rings: Path | None, save: str | None, json: bool, **options: Any) -> None:
        parameters = read_options(_texts(options), self._measured(rings))
        plan = compute(parameters)
        if save:
            _keep(save, parameters, options)
        self.stdout.write(_as_json(plan, save) if json else _as_text(plan, save))

    def _measured(self, file: Path | None) -> tuple[MeasuredRing, ...] | None:
        if file is None:
            return None
        with self.about(file):
            reading = kinds.rings(content_of(file))
            if reading.problems:
                raise Refused(reading.problems)
        for remark in reading.remarks:
            self.stderr.write(f"{file}: remark: {remark}")
        return reading.rows


def _add(parser: OptionParser, parameter: Parameter) -> None:
    flag = f"--{parameter.name.replace('_', '-')}"
    if parameter.kind is SWITCH:
        parser.add_argument(flag, action="store_const", const="yes", default="", help=parameter.help)
    elif parameter.kind is PEOPLE:
        parser.add_argument(flag, action="append", default=[], metavar="STAGE=N", help=parameter.help)
    else:
        choices = ("", *parameter.choices) if parameter.choices else None
        parser.add_argument(flag, default="", choices=choices, help=parameter.help)


def _texts(options: dict[str, Any]) -> dict[str, str]:
    """What was typed for each parameter; one typed several times is put together."""
    texts = {parameter.name: options[parameter.name] for parameter in PARAMETERS}
    return {name: " ".join(text) if isinstance(text, list) else text for name, text in texts.items()}


@transaction.atomic
def _keep(code: str, parameters: PlanParameters, options: dict[str, Any]) -> None:
    now = timezone.now()
    build = builds.begin(
        code=code, name=options["name"], place=options["place"], time_zone=options["time_zone"], now=now,
        people_limits=dict(parameters.people),
    )  # fmt: skip
    plans.save(build=build, parameters=parameters, by=None, now=now)
    if not options["draft"]:
        plans.freeze(build=build, by=None, now=now)


def _as_json(plan: BallPlan, code: str | None) -> str:
    cutting = cut_list(plan) if plan.parameters.stock.roll_m else None
    return json.dumps(whole_json(plan, code, cutting), ensure_ascii=False, allow_nan=False)


def _as_text(plan: BallPlan, code: str | None) -> str:
    totals = plan.totals
    lines = [
        f"{totals.pixels} pixels on {totals.rings} rings, {show_length(plan.diameter_m)} across, "
        f"pitch {show_length(plan.pitch_m)}",
        f"{totals.segments} segments, {totals.joints} joints, {show_length(totals.strap_m)} of strap",
        f"{totals.channels} channels of at most {plan.parameters.capacity} pixels",
        f"zone area / (pitch × spacing) = {totals.zone_area_pixels:.0f} pixels",
        *(f"warning: {warning}" for warning in plan.warnings),
    ]
    return "\n".join([*lines, f"kept as build {code}"] if code else lines)
