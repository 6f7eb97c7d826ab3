"""`forecast`: a day alone, what if, what would it take, the day plan; wrong values are refused in one line each."""

from __future__ import annotations

import json

import pytest

from buildlog.core.work.stages import Stage
from tests.management.test_lines import refused, run
from tests.people import hours_after, work_through

LINE = ("forecast", "--build", "SHED", "--as-of", "2026-03-02 10:00", "--trials", 20)


@pytest.fixture(autouse=True)
def coming(shed, helper, other_helper):
    """Marek comes an hour every day, Noor on the second one."""
    for day in range(30):
        helper.shifts.create(starts_at=hours_after(24 * day), ends_at=hours_after(24 * day + 1))
    other_helper.shifts.create(starts_at=hours_after(24), ends_at=hours_after(26))


def test_a_day_alone_is_the_end_of_that_day_and_says_so(shed, helper):
    work_through(shed.segments.current().first(), Stage.POPULATE, by=helper, at=hours_after(12))
    day = ("forecast", "--build", "SHED", "--as-of", "2026-03-02", "--trials", 20)
    said = json.loads(run(*day, "--json"))
    assert said["as_of"] == "2026-03-02T23:59+01:00" and said["pixels"]["populate"] > 0
    assert said == json.loads(run(*day[:3], "--as-of", "2026-03-02 23:59", "--trials", 20, "--json"))
    assert run(*day).startswith("As of the end of Mon 2026-03-02.\n")


@pytest.mark.parametrize("text", ["2026-02-30", "02.03.2026", "2026-3-2", "soon"])
def test_what_is_no_day_is_refused(text):
    (line,) = refused("forecast", "--build", "SHED", "--as-of", text)
    assert line.startswith("--as-of: ") and text in line


def test_what_ifs_stand_beside_today_with_the_same_luck():
    said = json.loads(run(
        *LINE, "--json", "--what-if", "Hands", "--more", "2 Mon,Tue 10:00-17:00 wire,test", "--what-if", "Alone",
        "--without", "Noor", "--people", "wire=1", "--first-rings", "2-3", "--no-rework", "--hand-over",
        "--target", "2026-03-09", "--shift", "Marek: Sat 10:00-12:00",
    ))  # fmt: skip
    assert said["today"] == json.loads(run(*LINE, "--json")), "today is what the forecast says anyway"
    hands, alone = said["what_ifs"]
    assert hands["name"] == "Hands" and hands["changes"] == ["2 more helpers (wire and test), Mon and Tue 10:00–17:00"]
    assert len(alone["changes"]) == 7 and alone["forecast"]["target"]["date"] == "2026-03-09T18:00+01:00"
    assert hands["forecast"]["finish"]["p80"] < said["today"]["finish"]["p80"]


def test_in_words_each_figure_has_its_difference():
    text = run(*LINE, "--without", "Noor")
    assert text.startswith("Today\n") and "What if: without Noor" in text and "Hours left" in text


def test_what_it_takes_says_hours_and_when(shed):
    shed.target_at = hours_after(24 * 3)
    shed.save()
    line = ("forecast", "--build", "SHED", "--as-of", "2026-03-02 10:00", "--trials", 50, "--what-it-takes")
    said = json.loads(run(*line, "--json"))
    assert said["chance"] == 0.8 and said["enough"] and said["hours"] > 0 and "person-hour" in said["sentence"]
    assert sum(map(len, said["shifts"])) > 0 and said["steps"][0]["helpers"] == 0
    assert said["sentence"] in run(*line) and "They would come:" in run(*line)
    assert json.loads(run(*line, "50", "--json"))["hours"] <= said["hours"]


def test_the_day_plan_can_be_cut_down_to_a_day_and_a_helper():
    line = ("forecast", "--build", "SHED", "--as-of", "2026-03-02 10:00", "--day-plan")
    whole = json.loads(run(*line, "--json"))
    part = json.loads(run(*line, "--json", "--day", "2026-03-03", "--helper", "Noor"))
    assert {turn["helper"] for turn in part["turns"]} == {"Noor"} and part["finish"] == whole["finish"]
    assert all(turn in whole["turns"] for turn in part["turns"]) and len(part["turns"]) < len(whole["turns"])
    assert run(*line).startswith("A suggestion:") and "R1-1" in run(*line)
    assert "Nothing is planned" in run(*line, "--day", "2026-05-03")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--what-it-takes",), "has no target"),
        (("--what-it-takes", "100"), "--what-it-takes: '100' is out of range"),
        (("--what-it-takes", "most"), "not a plain number"),
        (("--day-plan", "--day", "monday"), "--day: 'monday' is not a day"),
        (("--day-plan", "--helper", "Zoe"), "--helper: There is no helper 'Zoe'; there are: Marek, Noor"),
        (("--day", "2026-03-03"), "give --day-plan too"),
        (("--day-plan", "--what-if", "A", "--no-rework"), "One question at a time"),
        (("--what-if", "A"), "--what-if: Nothing is changed"),
        (("--what-if", "A", "--no-rework", "--what-if", "a", "--hand-over"), "is there twice"),
        (("--more", "two Sat 10:00-17:00"), "--more: 'two' is not a number"),
        (("--more", "2 Sat"), "--more: '2 Sat' has no times"),
        (("--without", "Zoe"), "There is no helper Zoe"),
        (("--shift", "Zoe: Sat 10:00-17:00"), "There is no helper Zoe"),
        (("--people", "paint=2"), "--people: 'paint=2'"),
        (("--first-rings", "99"), "--first-rings: There is no ring 99: rings go from 1 to 5"),
        (("--target", "2026-02-30"), "--target: There is no day"),
    ],
)
def test_wrong_values_are_refused_in_one_line(words, says):
    (line,) = refused(*LINE, *words)
    assert says in line


def test_every_wrong_value_has_its_line():
    assert len(refused(*LINE, "--what-if", "A", "--more", "2 Sat", "--what-if", "B", "--people", "wire")) == 2
