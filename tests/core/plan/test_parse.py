"""Options: one name for the form and the command, read and written without loss."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.plan.kinds import Offcut
from buildlog.core.plan.parameter_table import PowerParameters, StockParameters
from buildlog.core.plan.parse import read_options, write_options
from tests.core.plan.conftest import ball, measured, refusals

BALL = {"diameter": "8ft", "pitch": "1in", "ring_spacing": "2in"}


def test_options_are_read_as_people_write_them() -> None:
    texts = {
        **BALL,
        "snap_share": "20 %",
        "closing_rings": "60 – 64",
        "people": "wire=1, test=3",
        "alternate": "yes",
        "hand_pieces": "12: 50 48 48; 13: 60+60",
        "roll": "10m",
        "offcuts": "3 x 1.2m; 900mm",
        "brightness": "30%",
        "chain_wire": "0.75 mm2",
    }
    read = read_options(texts)
    assert (read.diameter_m, read.pitch_m) == (pytest.approx(2.4384), 0.0254)
    assert read.snap_share == pytest.approx(0.2)
    assert read.closing_rings == (60, 64)
    assert read.people == (("wire", 1), ("test", 3))
    assert read.alternate is True
    assert read.hand_pieces == ((12, (50, 48, 48)), (13, (60, 60)))
    assert read.stock.offcuts == (Offcut(1.2, 3), Offcut(0.9, 1))
    assert (read.power.brightness, read.power.chain_wire) == (0.3, "0.75 mm2")


def test_all_problems_come_at_once_whatever_group_they_are_in() -> None:
    problems = refusals(
        lambda: read_options({"pitch": "30mm", "ring_spacing": "60mm", "volts": "230", "kerf_holes": "-1"})
    )
    assert set(problems) == {"diameter", "volts", "kerf_holes"}
    problems = refusals(lambda: read_options({**BALL, "capacity": "many", "mains_volts": "12", "colour": "red"}))
    assert set(problems) == {"capacity", "mains_volts", "colour"}


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("closing_rings", "top"),
        ("hand_pieces", "50 48"),
        ("hand_pieces", "12: fifty"),
        ("offcuts", "3 x wide"),
        ("chain_wire", "string"),
        ("brightness", "bright"),
        ("channel_cut", "somewhere"),
    ],
)
def test_a_text_that_cannot_be_read_is_refused_beside_its_option(name: str, text: str) -> None:
    assert name in refusals(lambda: read_options({**BALL, name: text}))


@given(
    st.floats(0.06, 90.0),
    st.floats(0.0011, 1.0),
    st.sampled_from(["metric", "imperial"]),
    st.sampled_from([None, (3, 9)]),
    st.floats(0.0, 1.0),
)
def test_what_is_written_reads_back_exactly(
    diameter: float, pitch: float, system: str, closing: tuple[int, int] | None, share: float
) -> None:
    parameters = ball(
        diameter_m=diameter,
        pitch_m=pitch,
        closing_rings=closing,
        hand_pieces=((3, (40, 41)),),
        stock=StockParameters(roll_m=pitch * 100, offcuts=(Offcut(diameter, 2),)),
        power=PowerParameters(brightness=share),
    )
    assert read_options(write_options(parameters, system)) == parameters


def test_a_ring_table_comes_along() -> None:
    rows = measured("south-hall")
    assert read_options({"outputs": "48"}, rows).measured == rows


def test_native_lengths_are_written_short() -> None:
    texts = write_options(read_options(BALL), "imperial")
    assert (texts["diameter"], texts["pitch"]) == ("8 ft", "1 in")
    texts = write_options(ball())
    assert (texts["diameter"], texts["pitch"], texts["strap_width"]) == ("2.6 m", "30 mm", "25 mm")
