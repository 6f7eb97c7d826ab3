"""The plan on the unrolled ball."""

import re
from dataclasses import replace

import pytest

from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.plan import compute
from buildlog.drawings.plan_map import _blocks, plan_map

BALL = PlanParameters(diameter_m=1.0, pitch_m=0.05, rings_count=9, ribs=6, max_segment=25, capacity=70)


def numbers(svg: str) -> list[float]:
    return [float(n) for d in re.findall(r' d="([^"]+)"', svg) for n in re.findall(r"-?\d+(?:\.\d+)?", d)]


def test_it_says_in_words_what_it_shows():
    plan = compute(BALL)
    says = re.search(r'aria-label="([^"]+)"', plan_map(plan))[1]
    assert f"{plan.totals.pixels} pixels on 9 rings" in says
    assert f"{plan.totals.channels} channels" in says


def test_everything_drawn_lies_inside_the_picture():
    svg = plan_map(compute(replace(BALL, closing_rings=(8, 9), seam_stagger=2)))
    left, top, wide, tall = map(float, re.search(r'viewBox="([^"]+)"', svg)[1].split())
    assert min(numbers(svg)) >= min(left, top)
    assert max(numbers(svg)) <= max(left + wide, top + tall)


def test_what_closes_the_way_in_is_outlined_once():
    assert "plan-closing" not in plan_map(compute(BALL))
    ring = re.search(r'class="plan-closing" d="([^"]+)"', plan_map(compute(replace(BALL, closing_rings=(8, 9)))))[1]
    assert ring.count("M") == 1


@pytest.mark.parametrize(
    ("stretches", "blocks"),
    [
        ([(1, 0, 90), (2, 10, 80)], 1),
        ([(1, 0, 90), (3, 0, 90)], 2),
        ([(1, 0, 90), (2, 100, 180)], 2),
        ([(1, 0, 90), (1, 270, 360), (2, 0, 90), (2, 270, 360)], 2),
    ],
)
def test_stretches_of_neighbouring_rings_that_overlap_are_one_block(stretches, blocks):
    assert len(_blocks(stretches)) == blocks


def test_a_million_pixels_stay_a_small_drawing():
    million = PlanParameters(diameter_m=18, pitch_m=0.03, ring_spacing_m=0.033, ribs=24, capacity=680, max_segment=150)
    assert len(plan_map(compute(million))) < 120_000
