"""Files as leads really save them. The messy ones are small copies of what real exports get wrong."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import UTC, datetime, time
from pathlib import Path
from zoneinfo import ZoneInfo

import openpyxl
import pytest

from buildlog.core.errors import Refused
from buildlog.files import kinds
from buildlog.files.sheet import read

MESSY = Path(__file__).parent.parent / "data" / "messy"
LISBON = ZoneInfo("Europe/Lisbon")


def messy(name: str) -> bytes:
    return (MESSY / name).read_bytes()


def wrong(reading) -> dict[int, tuple[str, str]]:
    return {problem.row: (problem.field, problem.what) for problem in reading.problems}


def test_a_european_export_reads_like_any_other():
    """Byte order mark, semicolons, decimal commas, capitals, CRLF."""
    rows = kinds.rings(messy("rings-eu.csv")).rows
    assert [(row.ring, row.pixels, row.height_m) for row in rows] == [
        (1, 40, 1.8125), (2, 58, 1.79025), (3, 75, 1.761),
    ]  # fmt: skip


@pytest.mark.parametrize(("name", "pixels"), [("rings-tab.csv", [40, 58, 75]), ("rings-quoted.csv", [40, 58])])
def test_tabs_and_quotes_read_and_an_empty_last_line_is_nothing(name, pixels):
    reading = kinds.rings(messy(name))
    assert [row.pixels for row in reading.rows] == pixels and not reading.problems


def test_every_bad_row_is_listed_with_its_column_and_what_to_write():
    found = wrong(kinds.rings(messy("rings-bad.csv")))
    assert {row: field for row, (field, _) in found.items()} == {
        3: "pixels", 4: "ring", 5: "pixels", 6: "pixels", 7: "ring", 8: "pixels", 9: "pixels",
    }  # fmt: skip
    assert "out of range" in found[3][1] and "twice" in found[4][1] and "not a number" in found[5][1]
    assert "not whole" in found[8][1] and "write 1000" in found[9][1]


def test_a_missing_ring_is_named():
    (problem,) = kinds.rings(messy("rings-gap.csv")).problems
    assert "Ring 2 is missing" in problem.what


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("rings-empty.csv", "is empty"),
        ("rings-header-only.csv", "nothing under it"),
        ("rings-nul.csv", "Row 2 holds a NUL"),
        ("rings-latin1.csv", "byte 25 is 0xf6"),
    ],
)
def test_what_is_no_table_is_refused_each_with_its_own_sentence(name, says):
    with pytest.raises(Refused, match=says):
        kinds.rings(messy(name))


def test_an_unknown_column_alone_is_only_a_remark():
    reading = kinds.rings(messy("rings-latin1.csv").decode("latin-1").encode())
    assert len(reading.rows) == 1 and "'note'" in reading.remarks[0]


def test_a_thousands_point_is_asked_about():
    (problem,) = kinds.rings(messy("rings-thousands.csv")).problems
    assert problem.what == "'1.040' could be 1.04 or 1040: write 1040 if that is meant."


def test_a_missing_column_is_named_with_what_was_found():
    with pytest.raises(Refused) as refused:
        kinds.rings(b"ring,count\n1,40\n")
    (problem,) = refused.value.problems
    assert (problem.field, problem.row) == ("pixels", 1) and "ring, count" in problem.what


def test_names_are_names_whatever_they_look_like():
    reading = kinds.crew(messy("crew-names.csv"))
    assert [row.name for row in reading.rows] == ["Zoë Łuczak", "O'Neil, Sean", '=HYPERLINK("x")', "李小龙"]
    found = wrong(reading)
    assert set(found) == {6, 7, 8}
    assert "populate, mount, wire, test" in found[8][1]


def test_availability_counts_the_hours_of_days_with_a_clock_change():
    """Europe/Lisbon 2026 (IANA time zone database): 25 October has 25 hours, 29 March has 23."""
    reading = kinds.availability(messy("availability-mixed.csv"), LISBON)
    hours = {row.row: (row.ends_at - row.starts_at).total_seconds() / 3600 for row in reading.rows}
    assert hours == {2: 5, 3: 3, 4: 4, 6: 3.5, 8: 3}
    found = wrong(reading)
    assert "write 2026-05-02" in found[5][1].lower() and "no day '2026-02-30'" in found[7][1]


def test_availability_can_be_a_weekly_pattern():
    (row,) = kinds.availability(b"name;weekday;from;until\nAda;Sat;9:00;12.30\n", LISBON).rows
    assert (row.weekday, row.from_time, row.until_time) == (5, time(9), time(12, 30))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("2026-03-29 01:30", "does not exist"),
        ("2026-10-25 01:30", r"comes twice.*\+01:00.*\+00:00"),
        ("2026-05-02", "write it like"),
        ("yesterday", "write it like"),
    ],
)
def test_a_doubtful_time_of_a_stint_is_refused_with_how_to_write_it(text, says):
    reading = kinds.stints(f"name,stage,start,end\nAda,mount,{text},2026-12-01 10:00\n".encode(), LISBON)
    (problem,) = reading.problems
    assert problem.field == "start"
    assert re.search(says, problem.what)


def test_the_doubled_hour_can_be_written_with_its_offset():
    line = b"Ada,mount,2026-10-25T01:30+01:00,2026-10-25T01:30+00:00\n"
    (row,) = kinds.stints(b"name,stage,start,end\n" + line, LISBON).rows
    assert row.end - row.start == datetime(2026, 1, 1, 1, tzinfo=UTC) - datetime(2026, 1, 1, tzinfo=UTC)


def test_a_job_takes_no_more_hands_than_a_forecast_can_play():
    reading = kinds.jobs(b"job,hours_low,hours_likely,hours_high,hands\nlift,1,2,3,9\nframe,1,2,3,8\n")
    assert [row.hands for row in reading.rows] == [8] and wrong(reading)[2][0] == "hands"


def test_estimates_of_a_job_rise_from_low_to_high():
    reading = kinds.jobs(b"job,hours_low,hours_likely,hours_high\npaint,3,2,5\nframe,1,2,3\n")
    assert [row.name for row in reading.rows] == ["frame"]
    assert "rising order" in reading.problems[0].what


def workbook(*rows) -> bytes:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_a_workbook_reads_like_the_same_table_as_csv():
    day = datetime(2026, 5, 2)
    content = workbook(["Name", "Date", "Start", "End"], ["Ada", day, time(9), time(12, 30)], [None] * 4)
    (row,) = kinds.availability(content, LISBON).rows
    assert row.starts_at == datetime(2026, 5, 2, 8, tzinfo=UTC)
    rings = kinds.rings(workbook(["ring", "pixels"], [1, 40], [2, 58.0])).rows
    assert [ring.pixels for ring in rings] == [40, 58]


def test_a_workbook_that_unpacks_to_far_too_much_is_not_opened():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"0" * 30_000_000)
    with pytest.raises(Refused, match="unpacks to 30 MB in 1 parts"):
        read(out.getvalue(), required=("ring",), known=("ring",))


def test_a_damaged_workbook_is_refused_with_a_sentence():
    with pytest.raises(Refused, match="damaged"):
        read(b"PK\x03\x04 and nothing else", required=("ring",), known=("ring",))
