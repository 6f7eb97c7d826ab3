"""The main job from the command line on two builds in progress: plan, load, audit, forecast."""

from __future__ import annotations

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import InterfaceError, OperationalError

from buildlog.models import Build, Stint

DATA = Path(__file__).parent.parent / "data"
MESSY = DATA / "messy"

pytestmark = pytest.mark.django_db


def run(*words: object) -> str:
    out = StringIO()
    call_command(*map(str, words), stdout=out, stderr=StringIO())
    return out.getvalue()


def refused(*words: object) -> list[str]:
    """The lines on stderr of a command that must refuse: exit 1 and nothing on stdout."""
    out, err = StringIO(), StringIO()
    with pytest.raises(SystemExit) as stopped:
        call_command(*map(str, words), stdout=out, stderr=err)
    assert stopped.value.code == 1 and out.getvalue() == ""
    return err.getvalue().strip().splitlines()


def plan(folder: Path, code: str, *more: object) -> str:
    return run(
        "plan", "--rings", folder / "rings.csv", "--max-segment", 100, "--capacity", 500, "--outputs", 48,
        "--save", code, "--name", "A yard", "--time-zone", "Europe/Lisbon", *more,
    )  # fmt: skip


@pytest.fixture
def yard() -> Build:
    plan(DATA / "north-yard", "NY")
    run("load", "crew", DATA / "north-yard" / "crew.csv", "--build", "NY")
    return Build.objects.get(code="NY")


@pytest.mark.parametrize(
    ("folder", "as_of", "pixels", "passed", "stints"),
    [
        ("north-yard", "2026-05-09 22:00", 13370, (7826, 5509, 5291, 5291), 306),
        ("south-hall", "2026-03-28 22:00", 7890, (5824, 4124, 4124, 4124), 235),
    ],
)
def test_from_ring_table_to_finish_date(folder, as_of, pixels, passed, stints):
    """Sums of the files themselves: pixels of the ring table, pixels by stage of the log."""
    files = DATA / folder
    plan(files, "X")
    for kind in ("crew", "availability", "stints"):
        run("load", kind, files / f"{kind}.csv", "--build", "X")
    assert "everything adds up" in run("audit", "--build", "X")
    line = ("forecast", "--build", "X", "--as-of", as_of, "--trials", 200, "--json")
    answer = json.loads(run(*line))
    assert answer["pixels"] == dict(zip(("total", "populate", "mount", "wire", "test"), (pixels, *passed), strict=True))
    assert answer["build"] == "X" and answer["ledger_entries"] == stints - _rework(files)
    finish, left = answer["finish"], answer["labour_hours_left"]["total"]
    assert as_of[:10] < finish["p10"] <= finish["p50"] <= finish["p90"]
    assert 0 < left["p10"] <= left["p50"] <= left["p90"]
    assert run(*line) == run(*line), "same database, as-of, trials and seed: the same bytes"


def _rework(files: Path) -> int:
    return sum(line.endswith(",0") for line in (files / "stints.csv").read_text().splitlines()[1:])


def test_loading_the_same_files_again_changes_nothing(yard):
    for _ in range(2):
        run("load", "availability", DATA / "north-yard" / "availability.csv", "--build", "NY")
        run("load", "stints", DATA / "north-yard" / "stints.csv", "--build", "NY")
    assert yard.stints.count() == 306 and yard.entries.count() == 305


def test_bad_stints_are_refused_as_a_whole_with_every_bad_row(yard):
    lines = refused("load", "stints", MESSY / "stints-bad.csv", "--build", "NY")
    assert [line.split(": ")[1].split(",")[0] for line in lines] == [f"row {row}" for row in range(3, 9)]
    says = "\n".join(lines)
    for expected in ("already", "before it starts", "9999 pixels", "'R99-9'", "'paint'", "longer than the stint"):
        assert expected in says
    assert not Stint.objects.exists() and not yard.entries.exists()


def test_the_good_rows_of_that_file_load_and_two_helpers_share_the_credit(yard, tmp_path):
    rows = (MESSY / "stints-bad.csv").read_text().splitlines()
    good = tmp_path / "stints.csv"
    good.write_text("\n".join([rows[0], rows[1], *rows[8:]]))
    run("load", "stints", good, "--build", "NY")
    both = yard.stints.get(stage="mount")
    assert sorted(both.people.values_list("name", flat=True)) == ["Ada", "Bo"]


def test_bad_availability_is_refused_as_a_whole(yard):
    lines = refused("load", "availability", MESSY / "availability-mixed.csv", "--build", "NY")
    assert [line.split(": ")[1] for line in lines] == ["row 5, date", "row 7, date", "row 8, name"]
    assert not any(person.shifts.exists() for person in yard.people.all())


def test_a_dry_run_keeps_nothing(yard):
    assert "would be loaded" in run("load", "stints", DATA / "north-yard" / "stints.csv", "--build", "NY", "--dry-run")
    assert not yard.stints.exists()


def test_odd_names_go_in_as_they_are(yard, tmp_path):
    rows = (MESSY / "crew-names.csv").read_text(encoding="utf-8").splitlines()
    good = tmp_path / "crew.csv"
    good.write_text("\n".join(rows[:5]), encoding="utf-8")
    run("load", "crew", good, "--build", "NY")
    assert {"Zoë Łuczak", "O'Neil, Sean", '=HYPERLINK("x")', "李小龙"} <= set(
        yard.people.values_list("name", flat=True)
    )


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("load", "crew", DATA / "north-yard" / "crew.csv", "--build", "NO"), "no build 'NO'; there are: NY"),
        (("load", "crew", DATA / "nowhere.csv", "--build", "NY"), "cannot be read"),
        (("forecast", "--build", "NY", "--as-of", "soon"), "write it like"),
        (("forecast", "--build", "NY", "--trials", "many"), "not a number"),
        (("audit", "--build", "NO"), "no build"),
        (("locate", "--build", "NY", "--channel", "99", "--pixel", "1"), "channels go from 1 to 27"),
        (("locate", "--build", "NY", "--segment", "R1-1", "--pixel", "29"), "pixels 1 to 28"),
        (("locate", "--build", "NY", "--pixel", "1"), "either --channel or --segment"),
        (("plan", "--diameter", "big", "--pitch", "30mm"), "not a length"),
        (("plan", "--pitch", "30mm", "--rings-count", "10"), "diameter"),
        (("plan", "--rings", MESSY / "rings-bad.csv"), "row 3, pixels"),
        (("plan", "--rings", DATA / "north-yard" / "rings.csv", "--save", "NY"), "choose another code"),
        (("plan", "--rings", DATA / "north-yard" / "rings.csv", "--save", "no code"), "letters, digits"),
        (("plan", "--rings", DATA / "north-yard" / "rings.csv", "--save", "Y", "--time-zone", "Moon"), "IANA name"),
    ],
)
def test_a_command_refuses_bad_input_with_a_sentence(yard, words, says):
    assert says in "\n".join(refused(*words))
    assert Build.objects.count() == 1


def test_a_plan_in_json_adds_up_like_the_table():
    answer = json.loads(run("plan", "--rings", DATA / "north-yard" / "rings.csv", "--max-segment", 100, "--json"))
    assert (answer["totals"]["pixels"], answer["totals"]["segments"]) == (13370, 160)
    assert sum(channel["pixels"] for channel in answer["channels"]) == 13370
    assert answer["build"] is None and not Build.objects.exists()


def test_a_pixel_is_found_from_its_channel_and_from_its_segment(yard):
    by_channel = json.loads(run("locate", "--build", "NY", "--channel", 12, "--pixel", 345, "--json"))
    line = ("locate", "--build", "NY", "--segment", by_channel["segment"], "--pixel", by_channel["pixel"], "--json")
    assert json.loads(run(*line)) == by_channel
    assert by_channel["segment"] in run("locate", "--build", "NY", "--channel", 12, "--pixel", 345)


def test_a_plan_takes_a_new_ring_table_until_somebody_has_worked_by_it(yard):
    run("load", "stints", DATA / "north-yard" / "stints.csv", "--build", "NY")
    assert "stays frozen" in refused("load", "rings", MESSY / "rings-eu.csv", "--build", "NY")[0]
    run("plan", "--diameter", "2.6m", "--pitch", "30mm", "--ring-spacing", "30mm", "--save", "FROZEN")
    for name in ("rings-eu.csv", "rings-tab.csv", "rings-quoted.csv"):
        run("load", "rings", MESSY / name, "--build", "FROZEN")
    assert Build.objects.get(code="FROZEN").plans.get().frozen
    plan(DATA / "north-yard", "DRAFT", "--draft")
    run("load", "rings", MESSY / "rings-eu.csv", "--build", "DRAFT")
    assert Build.objects.get(code="DRAFT").segments.count() == 3


@pytest.mark.parametrize(
    "wrong", [OperationalError("database is locked"), OperationalError("no\nserver"), InterfaceError("gone")]
)
def test_a_database_that_is_locked_full_or_away_is_said_in_one_line(yard, monkeypatch, wrong):
    def trip(*_, **__):
        raise wrong

    monkeypatch.setattr("buildlog.management.commands.forecast.input_of", trip)
    (line,) = refused("forecast", "--build", "NY")
    assert "cannot be used at the moment" in line and "whether the disk is full" in line
