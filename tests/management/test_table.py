"""`table`: a build's tables as files, from the command line; and the whole plan as JSON."""

import csv
import io
import json

import pytest
from django.core.management import call_command

from buildlog.actions import builds
from buildlog.management.commands.table import KINDS
from tests.people import MONDAY


def run(*arguments: str) -> str:
    out = io.StringIO()
    call_command(*arguments, stdout=out, stderr=out)
    return out.getvalue()


def refused(capsys_text: io.StringIO, *arguments: str) -> str:
    with pytest.raises(SystemExit) as ended:
        call_command(*arguments, stdout=io.StringIO(), stderr=capsys_text)
    assert ended.value.code == 1
    return capsys_text.getvalue()


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "cuts"])
@pytest.mark.parametrize("end", ["csv", "xlsx"])
def test_every_table_is_written(shed, tmp_path, kind, end):
    file = tmp_path / f"{kind}.{end}"
    assert str(file) in run("table", kind, "--build", "SHED", "--out", str(file))
    assert file.read_bytes().startswith(b"\xef\xbb\xbf" if end == "csv" else b"PK")


def test_the_pixel_table_has_a_row_a_pixel(shed, tmp_path):
    run("table", "pixels", "--build", "shed", "--out", str(tmp_path / "pixels.csv"))
    rows = list(csv.DictReader((tmp_path / "pixels.csv").read_text("utf-8-sig").splitlines()))
    assert len(rows) == 254
    assert (rows[0]["channel"], rows[0]["channel_pixel"]) == ("1", "1")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("cuts", "--build", "SHED", "--out", "{}/cuts.csv"), "Give the length of a roll"),
        (("rings", "--build", "NONE", "--out", "{}/rings.csv"), "there are: SHED"),
        (("rings", "--build", "SHED", "--out", "{}/rings.txt"), "neither .csv nor .xlsx"),
        (("rings", "--build", "SHED", "--out", "{}/no/such/folder/rings.csv"), "cannot be written"),
    ],
)
def test_what_cannot_be_written_is_said_in_a_line(shed, tmp_path, arguments, words):
    said = refused(io.StringIO(), "table", *(part.format(tmp_path) for part in arguments))
    assert words in said
    assert len(said.strip().splitlines()) == 1


def test_a_build_without_a_plan_has_no_tables(db, tmp_path):

    builds.begin(code="BARE", name="Bare", time_zone="UTC", now=MONDAY)
    assert "no plan yet" in refused(io.StringIO(), "table", "supplies", "--build", "BARE", "--out", f"{tmp_path}/s.csv")


def test_the_whole_plan_comes_as_one_document(db):
    given = ["--diameter", "1m", "--pitch", "5cm", "--ring-spacing", "10cm", "--roll", "5m", "--json"]
    whole = json.loads(run("plan", *given))
    assert {
        "rings",
        "segments",
        "channels",
        "totals",
        "warnings",
        "ways",
        "cutting",
        "power",
        "mass",
        "supplies",
    } <= set(whole)
    cut = sum(
        piece["pixels"] for one in whole["cutting"]["lengths"] for piece in one["pieces"] if piece["piece"] != "patch"
    )
    assert cut == whole["totals"]["pixels"]
