"""Values of options: read as people write them, checked alone, and written so that they read back."""

import pytest

from buildlog.core.plan.kinds import (
    BAY_RANGE,
    CHOICE,
    COUNT,
    HAND_PIECES,
    LENGTH,
    NUMBER,
    OFFCUTS,
    PEOPLE,
    RING_RANGE,
    SHARE,
    SWITCH,
    WIRE,
    Offcut,
    is_count,
)
from buildlog.core.plan.parameter import Parameter
from tests.core.plan.conftest import problem_of


def problems(kind, value, **also):
    """(template, values) of all that is wrong."""
    parameter = Parameter(kind, **{"noun": "the thing", "name": "thing", "default": 1} | also)
    return [(problem.sentence.template, problem.sentence.values) for problem in kind.check(value, parameter)]


@pytest.mark.parametrize(
    ("kind", "text", "value"),
    [
        (COUNT, "+12", 12), (COUNT, "-3", -3),
        (NUMBER, "12,5", 12.5), (NUMBER, "40°", 40.0), (NUMBER, "40 °", 40.0),
        (SHARE, "5%", 0.05), (SHARE, "0.05", 0.05), (SHARE, "2,5 %", 0.025),
        (LENGTH, "0", 0.0), (LENGTH, "8ft", 2.4384),
        (CHOICE, "rings", "rings"),
        (SWITCH, "yes", True), (SWITCH, "No", False), (SWITCH, "0", False), (SWITCH, "", False), (SWITCH, "off", False),
        (SWITCH, "false", False), (SWITCH, "1", True),
        (RING_RANGE, "88-90", (88, 90)), (RING_RANGE, "88 – 90", (88, 90)), (BAY_RANGE, "7", (7, 7)),
        (PEOPLE, "wire=2, TEST=1;wire=3", (("wire", 3), ("test", 1))), (PEOPLE, "", ()),
        (HAND_PIECES, "12: 50 48+48; 13: 70,71\n", ((12, (50, 48, 48)), (13, (70, 71)))),
        (OFFCUTS, "3 x 1.2m; 400mm", (Offcut(1.2, 3), Offcut(0.4, 1))),
        (OFFCUTS, "2×1m\n4*2m", (Offcut(1, 2), Offcut(2, 4))),
    ],
)  # fmt: skip
def test_texts_are_read(kind, text, value):
    assert kind.read(text, "thing") == value


@pytest.mark.parametrize(
    ("kind", "text"),
    [(COUNT, "1.5"), (COUNT, "1234567890123"), (COUNT, ""), (NUMBER, "many"), (SHARE, "x%"), (LENGTH, "-1m"),
     (RING_RANGE, "a-b"), (RING_RANGE, "1-2-3"), (PEOPLE, "wire"), (HAND_PIECES, "12"), (HAND_PIECES, "x: 50"),
     (HAND_PIECES, "12: fifty"), (OFFCUTS, "3 x"), (OFFCUTS, "3 x 0m")],
)  # fmt: skip
def test_texts_that_say_nothing_of_the_kind(kind, text):
    assert problem_of(lambda: kind.read(text, "thing")).field == "thing"


@pytest.mark.parametrize(
    ("kind", "value", "text"),
    [
        (SWITCH, True, "yes"), (SWITCH, False, ""), (RING_RANGE, (88, 90), "88-90"), (BAY_RANGE, (7, 7), "7-7"),
        (PEOPLE, (("wire", 3), ("test", 1)), "wire=3 test=1"), (HAND_PIECES, ((12, (50, 48)),), "12: 50 48"),
        (OFFCUTS, (Offcut(1.2, 3), Offcut(0.4, 1)), "3 x 1.2 m; 1 x 400 mm"),
    ],
)  # fmt: skip
def test_what_is_written_reads_back(kind, value, text):
    assert kind.write(value, "metric") == text and kind.read(text, "thing") == value


@pytest.mark.parametrize(
    ("kind", "value"),
    [(RING_RANGE, (88, 90)), (BAY_RANGE, None), (PEOPLE, (("wire", 3),)), (HAND_PIECES, ((12, (50, 48)),)),
     (OFFCUTS, (Offcut(1.2, 3),)), (COUNT, 4)],
)  # fmt: skip
def test_json_gives_it_back(kind, value):
    assert kind.from_json(kind.to_json(value)) == value


def test_what_could_have_been_counted():
    assert is_count(1, 1) and is_count(10_000_000, 1)
    assert not any(is_count(value, 1) for value in (0, 10_000_001, True, 1.0, "1", None))


def test_a_choice_is_one_of_its_words():
    choices = {"rings": "At rings", "joints": "At joints"}
    assert problems(CHOICE, "rings", choices=choices) == []
    ((_, values),) = problems(CHOICE, "nowhere", choices=choices)
    assert values == {"value": "nowhere", "choices": "rings, joints"}
    assert problems(SWITCH, True) == problems(SWITCH, False) == [] and problems(SWITCH, "maybe")
    assert problems(WIRE, "2.5mm2") == [] or problems(WIRE, "2.5 mm²") == []
    assert problems(WIRE, "rope")


@pytest.mark.parametrize("value", [(0, 3), (3, 2), (1, 2, 3), (1,), (1, True), (1, 2.0)])
def test_closing_rings_that_are_no_range(value):
    assert len(problems(RING_RANGE, value)) == 1


def test_rings_are_a_rising_range_and_bays_may_pass_the_first_rib():
    assert problems(RING_RANGE, (1, 1)) == problems(RING_RANGE, (3, 9)) == problems(RING_RANGE, None) == []
    assert problems(BAY_RANGE, (23, 2)) == problems(BAY_RANGE, None) == [] and problems(BAY_RANGE, (0, 2))


def test_people_at_stages():
    assert problems(PEOPLE, (("wire", 1), ("test", 4))) == []
    ((_, values),) = problems(PEOPLE, (("paint", 1),))
    assert values == {"stage": "paint", "stages": "populate, mount, wire, test"}
    for limit in (0, -1, True, 1.5):
        ((_, values),) = problems(PEOPLE, (("wire", limit),))
        assert values == {"stage": "wire", "limit": limit}


@pytest.mark.parametrize("value", [((0, (50,)),), ((12, ()),), ((12, (50, 0)),), ((True, (50,)),)])
def test_rings_cut_by_hand_that_are_none(value):
    ((_, values),) = problems(HAND_PIECES, value)
    assert values == {"ring": value[0][0]}


def test_offcuts_have_a_length_and_a_number():
    assert problems(OFFCUTS, (Offcut(0.001, 1), Offcut(10_000.0, 100_000))) == []
    assert [len(problems(OFFCUTS, (offcut,))) for offcut in (Offcut(0.0, 1), Offcut(1.0, 0), Offcut(1.0, 100_001))] == [
        1, 1, 1,
    ]  # fmt: skip


def test_numbers_keep_to_their_range_and_are_shown_with_their_unit():
    limits = {"least": 1, "most": 8, "unit": "mm"}
    for kind, value in ((COUNT, 1), (COUNT, 8), (NUMBER, 1.0), (NUMBER, 8), (LENGTH, 8.0)):
        assert problems(kind, value, **limits) == []
    ((template, values),) = problems(NUMBER, 8.5, **limits)
    assert template == "{noun} is {shown}; {allowed}.{hint}" and values["noun"] == "The thing"
    assert (values["shown"], str(values["allowed"])) == ("8.5 mm", "allowed: 1 mm to 8 mm")
    ((_, values),) = problems(NUMBER, 0.5, **limits | {"unit": "°"})
    assert values["shown"] == "0.5°"
    ((_, values),) = problems(NUMBER, 0.5, **limits | {"noun": "the size, in mm,"})
    assert values["shown"] == "0.5"


def test_a_length_far_too_long_was_meant_in_millimetres():
    ((_, values),) = problems(LENGTH, 30.0, least=0.001, most=10.0)
    assert values["hint"] == " A bare number is metres: was 30mm meant?"
    ((_, values),) = problems(LENGTH, 0.0, least=0.001, most=10.0)
    assert values["hint"] == ""


@pytest.mark.parametrize("value", ["1", True, None, [1]])
def test_what_is_no_number(value):
    for kind, word in ((COUNT, "a whole number"), (NUMBER, "a number"), (LENGTH, "a number")):
        ((template, values),) = problems(kind, value)
        assert "must be {kind}, not {value!r}" in template and values["kind"] == word
    assert problems(COUNT, 1.5) and not problems(NUMBER, 1.5)


def test_numbers_without_end_and_nothing_where_nothing_is_the_default():
    ((template, _),) = problems(NUMBER, float("inf"))
    assert template == "{noun} must be {kind}; {allowed}."
    assert problems(NUMBER, None, default=None) == problems(COUNT, None, default=None) == []
