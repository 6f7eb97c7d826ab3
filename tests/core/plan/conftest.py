"""A ball that the plan tests share, and the two measured frames."""

import csv
from dataclasses import replace
from pathlib import Path

import pytest

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.parameter_table import MeasuredRing
from buildlog.core.plan.parameters import PlanParameters

DATA = Path(__file__).parents[2] / "data"

BALL = PlanParameters(diameter_m=2.6, pitch_m=0.03, ring_spacing_m=0.06, top_pixels=28, bottom_pixels=60, outputs=48)


def ball(**changes: object) -> PlanParameters:
    """The shared ball with some parameters changed."""
    return replace(BALL, **changes)


def measured(name: str, heights: bool = True) -> tuple[MeasuredRing, ...]:
    """The ring table of a frame that was measured."""
    with (DATA / name / "rings.csv").open(encoding="utf-8") as lines:
        return tuple(
            MeasuredRing(int(row["ring"]), int(row["pixels"]), float(row["height_mm"]) / 1000 if heights else None)
            for row in csv.DictReader(lines)
        )


def refusals(make: object) -> dict[str, str]:
    """What is refused, as field → sentence."""
    with pytest.raises(Refused) as caught:
        make()
    return {problem.field: problem.what for problem in caught.value.problems}


def problem_of(make: object) -> Problem:
    """The only problem of what is refused."""
    with pytest.raises(Refused) as caught:
        make()
    (problem,) = caught.value.problems
    return problem
