"""Tables on their way out: what a spreadsheet finds when it opens them."""

import csv
import io

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.errors import Refused
from buildlog.core.plan.parameter_table import MeasuredRing
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.plan import compute
from buildlog.core.plan.wiring.place import on_channel
from buildlog.files import kinds
from buildlog.files.out import Table, as_csv, as_xlsx, csv_pieces
from buildlog.files.plan_tables import PLAN_TABLES

BALL = PlanParameters(diameter_m=1.0, pitch_m=0.05, rings_count=9, ribs=6, max_segment=25, capacity=70, alternate=True,
                      closing_rings=(8, 9))  # fmt: skip
BOM = b"\xef\xbb\xbf"


@pytest.fixture(scope="module")
def plan():
    return compute(BALL)


def lines(content: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx", "＝1+1", "＋1", "－1", "＠SUM(A1)"])
def test_a_text_that_a_spreadsheet_would_run_gets_an_apostrophe(text):
    # The beginnings: OWASP, "CSV Injection", from memory; it names the full-width ones (U+FF1D, FF0B, FF0D, FF20) too.
    table = Table(("note",), [(text,)])
    assert lines(as_csv(table))[1] == [f"'{text}"]
    assert openpyxl.load_workbook(io.BytesIO(as_xlsx(table))).active["A2"].value.startswith("'")


def test_numbers_stay_numbers_also_below_zero():
    table = [("gap",), (-2.5,)]
    assert lines(as_csv(Table(table[0], table[1:])))[1] == ["-2.5"]
    assert openpyxl.load_workbook(io.BytesIO(as_xlsx(Table(table[0], table[1:])))).active["A2"].value == -2.5


def test_csv_begins_with_the_mark_that_spreadsheets_know_utf_8_by():
    content = as_csv(Table(("name",), [("Zoë 张",)]))
    assert content.startswith(BOM)
    assert lines(content) == [["name"], ["Zoë 张"]]


def test_a_long_table_comes_in_pieces():
    pieces = list(csv_pieces(Table(("n",), ((n,) for n in range(5000)))))
    assert len(pieces) == 3
    assert lines(b"".join(pieces)) == [["n"], *([str(n)] for n in range(5000))]


@given(st.lists(st.text(alphabet=st.characters(codec="utf-8", exclude_characters="\x00"), max_size=8), max_size=6))
def test_whatever_is_written_comes_back_but_for_the_apostrophe(cells):
    back = [line[0] for line in lines(as_csv(Table(("a", "b"), [(cell, 1) for cell in cells])))[1:]]
    assert [text.removeprefix("'") for text in back] == [cell.removeprefix("'") for cell in cells]


@pytest.mark.parametrize("write", [as_csv, as_xlsx])
def test_the_table_of_rings_can_be_loaded_again(plan, write):
    reading = kinds.rings(write(PLAN_TABLES["rings"](plan)))
    assert not reading.problems
    assert [(row.ring, row.pixels, row.closing) for row in reading.rows] == [
        (ring.number, ring.pixels, ring.closing) for ring in plan.rings
    ]
    again = compute(PlanParameters(measured=reading.rows, ribs=6, max_segment=25, capacity=70))
    assert again.totals.pixels == plan.totals.pixels
    assert again.diameter_m == pytest.approx(1.0, abs=1e-3)


def test_segments_add_up_to_the_plan(plan):
    rows = lines(as_csv(PLAN_TABLES["segments"](plan)))[1:]
    assert sum(int(row[4]) for row in rows) == plan.totals.pixels
    assert len(rows) == plan.totals.segments


def test_channels_count_their_chain_without_a_gap(plan):
    table = PLAN_TABLES["channels"](plan)
    at = {name: place for place, name in enumerate(table.columns)}
    chain: dict[int, int] = {}
    for row in table.rows:
        assert row[at["chain_from"]] == chain.get(row[at["channel"]], 0) + 1
        chain[row[at["channel"]]] = row[at["chain_to"]]
    assert list(chain.values()) == [channel.pixels for channel in plan.channels]


def test_every_pixel_is_where_a_look_up_says(plan):
    rows = list(PLAN_TABLES["pixels"](plan).rows)
    assert len(rows) == plan.totals.pixels
    for row in rows[::37]:
        place = on_channel(plan, row[0], row[1])
        assert (place.segment, place.pixel, place.ring, place.ring_pixel) == row[2:6]
        assert row[6:9] == pytest.approx((1000 * place.x_m, 1000 * place.y_m, 1000 * place.z_m), abs=0.01)


def test_notches_need_ribs(plan):
    assert len(list(PLAN_TABLES["notches"](plan).rows)) == 6 * 9
    bare = compute(PlanParameters(measured=(MeasuredRing(1, 40),), diameter_m=1.0, pitch_m=0.05))
    with pytest.raises(Refused, match="number of ribs"):
        PLAN_TABLES["notches"](bare)
