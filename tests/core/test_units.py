"""Lengths in, lengths out."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.errors import Refused
from buildlog.core.units import IMPERIAL, METRIC, length, show_length


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("2.6m", 2.6),
        ("2,6 m", 2.6),
        ("30mm", 0.03),
        ("26 cm", 0.26),
        ("8ft", 2.4384),
        ("1in", 0.0254),
        ("8' 6\"", 2.5908),
        ("8′ 6″", 2.5908),
        ("8 ft 6 in", 2.5908),
        ('1/2"', 0.0127),
        ("1 1/2 in", 0.0381),
        ("2.6", 2.6),
        ("0,025", 0.025),
        (" 30 MM ", 0.03),
        (2.6, 2.6),
        (3, 3.0),
    ],
)
def test_a_length_is_read_as_people_write_it(text: object, metres: float) -> None:
    assert length(text) == pytest.approx(metres, rel=1e-15)


def test_thirty_millimetres_is_the_number_0_03() -> None:
    assert length("30mm") == 0.03
    assert length("33 mm") == 0.033


@pytest.mark.parametrize("text", ["", "wide", "3 parsecs", "1/0 in", "--3", "3 m 4", "nan", "inf", None, True])
def test_what_is_no_length_is_refused_with_what_is_allowed(text: object) -> None:
    with pytest.raises(Refused) as caught:
        length(text, "pitch")
    assert caught.value.problems[0].field == "pitch"
    assert "2.6m" in str(caught.value) or "divides" in str(caught.value)


@pytest.mark.parametrize("text", ["0", "0mm", "-3mm"])
def test_a_length_is_above_zero_unless_told(text: str) -> None:
    with pytest.raises(Refused, match="not above zero"):
        length(text)


def test_a_least_length_may_be_zero() -> None:
    assert length("0mm", least=0.0) == 0.0
    with pytest.raises(Refused, match="less than 0 mm"):
        length("-1mm", least=0.0)


def test_a_comma_that_could_be_thousands_is_asked_about() -> None:
    with pytest.raises(Refused, match=r"could be 1\.524 or 1524"):
        length("1,524 mm")


@pytest.mark.parametrize(
    ("metres", "metric", "imperial"),
    [
        (2.6, "2.6 m", "8 ft 6.36 in"),
        (0.03, "30 mm", "1.18 in"),
        (0.0254, "25.4 mm", "1 in"),
        (2.4384, "2.438 m", "8 ft"),
        (0.0, "0 mm", "0 in"),
        (-0.004, "-4 mm", "-0.16 in"),
        (0.3047999, "304.8 mm", "1 ft"),
    ],
)
def test_a_length_is_shown_in_both_systems(metres: float, metric: str, imperial: str) -> None:
    assert show_length(metres, METRIC) == metric
    assert show_length(metres, IMPERIAL) == imperial


@given(st.floats(min_value=0.001, max_value=500))
def test_what_is_shown_reads_back_within_its_last_digit(metres: float) -> None:
    assert length(show_length(metres)) == pytest.approx(metres, abs=5.1e-4)
    assert length(show_length(metres, IMPERIAL)) == pytest.approx(metres, abs=1.3e-4)
