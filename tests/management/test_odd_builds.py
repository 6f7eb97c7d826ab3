"""`forecast` on builds that are odd in one way: a sentence says what is missing and what to do."""

from __future__ import annotations

import json
import math
import re
from typing import Any

import pytest

from tests.management.test_lines import refused, run
from tests.odd_builds import ODD, ordinary

LINE = ("forecast", "--build", "SHED", "--as-of", "2026-03-02 10:00", "--trials", 20)
TWO_MORE = ("--what-if", "Two more", "--more", "2 Sat,Sun 10:00-17:00")
NO_DATE = re.compile(r"^No date can be given: |^Not ready within the known availability|^Everything is done")
# What the forecast says first, what it says beside it, what it takes, what the day plan ends with.
SAYS = {
    "one helper": ("Ready by ", "standard rates", "Nothing more is needed", "it is ready on"),
    "nobody in the crew": (
        "No date can be given: there are no helpers yet; 5 person-hours to go.", "enter the crew",
        "There are no helpers yet", "there are no helpers yet",
    ),
    "nobody available": (
        "No date can be given: nobody has said when they can come; 5 person-hours to go.", "enter availability",
        "Nobody is down for any shift", "nobody has said when they can come",
    ),
    "availability too short": (
        "Not ready within the known availability (to Mon 2 March 2026); 5 person-hours to go, about 4 of them still",
        "The shifts noted are not enough: about 4 person-hours are missing. Add shifts or helpers under Crew.",
        "only 2 fit at once. Let more in if that is safe, or add days under Crew.", "not ready within the shifts noted",
    ),
    "helpers without skills": (
        "No date can be given: nobody has the skill to populate, mount, wire or test; 5 person-hours to go.",
        "show somebody how", "who can populate, mount, wire and test, make it", "nobody has the skill to populate",
    ),
    "no stints yet": ("Ready by ", "Nothing is measured yet", "Nothing more is needed", "it is ready on"),
    "one stint": ("Ready by ", "", "Nothing more is needed", "it is ready on"),
    "a stint of zero length": ("Ready by ", "", "Nothing more is needed", "it is ready on"),
    "a stint of zero pixels": ("Ready by ", "Nothing is measured yet", "Nothing more is needed", "it is ready on"),
    "limit 0": (
        "No date can be given: nobody may wire, the limit of people there being 0; 5 person-hours to go.",
        "Set it to 1 or more", "No number of extra hands helps as things stand. Nobody may wire", "nobody may wire",
    ),
    "hands that do not fit": (
        "No date can be given: it takes 3 to mount and only 2 fit; 5 person-hours to go.", "change one of the two",
        "No number of extra hands helps as things stand. A segment needs 3", "it takes 3 to mount and only 2 fit",
    ),
    "a target in the past": ("Ready by ", "The target has passed: set another one.", None, "it is ready on"),
    "no target": ("Ready by ", "", None, "it is ready on"),
    "all done": (
        "Everything is done: nothing is left to forecast.", "", "Everything is done: nothing more is needed.",
        "Everything is done: nothing is left to plan.",
    ),
}  # fmt: skip


@pytest.fixture
def odd(shed, lead, way):
    ODD[way](ordinary(shed))
    return shed


def document(*words: str) -> dict[str, Any]:
    """What `--json` prints, with numbers that are numbers."""
    text = run(*LINE, *words, "--json")
    return json.loads(text, parse_constant=lambda word: pytest.fail(f"{word} in {words}"))


@pytest.mark.parametrize("way", ODD)
def test_the_forecast_says_what_is_missing_and_makes_up_no_date(odd, way):
    said, text = document(), run(*LINE)
    first, beside, *_ = SAYS[way]
    assert said["sentence"].startswith(first) and text.splitlines()[0] == said["sentence"]
    assert beside in " ".join(said["warnings"]) and all(warning in text for warning in said["warnings"])
    assert len(said["warnings"]) == len(set(said["warnings"])) <= 3, "a tired lead reads three lines, not nine"
    assert all(math.isfinite(value) for value in _numbers(said))
    dates = [said["finish"][f"p{cut}"] for cut in (10, 50, 80, 90, 95)]
    if NO_DATE.match(said["sentence"]) and way != "all done":
        assert dates == [None] * 5 and said["finish"]["never"] == 1
    left = said["labour_hours_left"]["total"]
    assert (left["p50"] > 3) == (way != "all done") and left["p10"] <= left["p50"] <= left["p90"]


def _numbers(value: Any) -> list[float]:
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        return [number for inner in value for number in _numbers(inner)]
    return [value] if isinstance(value, float) else []


@pytest.mark.parametrize("way", ODD)
def test_what_it_takes_is_an_answer_or_says_what_comes_first(odd, way):
    takes = SAYS[way][2]
    if takes is None:
        (line,) = refused(*LINE, "--what-it-takes")
        assert line.startswith("target: The ") and "set" in line and "then ask what it would take" in line
        return
    said = document("--what-it-takes")
    assert takes in said["sentence"] and run(*LINE, "--what-it-takes").startswith(said["sentence"])
    assert all(math.isfinite(value) for value in _numbers(said)) and said["hours"] >= 0


@pytest.mark.parametrize("way", ODD)
def test_what_if_stands_beside_it_with_a_sentence_each(odd, way):
    said, text = document(*TWO_MORE), run(*LINE, *TWO_MORE)
    (one,) = said["what_ifs"]
    assert said["today"]["sentence"].startswith(SAYS[way][0])
    assert f"Today\n  {said['today']['sentence']}\n" in text and f"\n  {one['forecast']['sentence']}\n" in text
    assert all(math.isfinite(value) for value in _numbers(said))


@pytest.mark.parametrize("way", ODD)
def test_the_day_plan_says_how_it_ends(odd, way):
    said, text = document("--day-plan"), run(*LINE, "--day-plan")
    assert SAYS[way][3] in said["sentence"] and said["sentence"] in text
    assert (said["finish"] is None) == ("ready on" not in said["sentence"] and way != "all done")
    assert all(math.isfinite(value) for value in _numbers(said))
