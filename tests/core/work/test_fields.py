"""Fields from outside: the wrong type is refused, never guessed at."""

from enum import StrEnum
from uuid import UUID

import pytest

from buildlog.core.errors import Refused
from buildlog.core.work.fields import Fields


class Fruit(StrEnum):
    PEAR = "pear"
    PLUM = "plum"


def refusal(act, *passed):
    """(template, values) of the only problem."""
    with pytest.raises(Refused) as refused:
        act(*passed)
    (problem,) = refused.value.problems
    return problem.sentence.template, dict(problem.sentence.values)


def of(value):
    return Fields("basket", {"it": value})


@pytest.mark.parametrize(
    ("raw", "kind"),
    [
        (None, "null"),
        (True, "true or false"),
        ([], "a list"),
        ("x", "text"),
        (1, "a number"),
        (1.5, "a number"),
        ((), "something else"),
    ],
)
def test_what_is_no_object_is_refused_by_its_kind(raw, kind):
    template, values = refusal(Fields.of, raw, "basket", {"b", "a"})
    assert template == "The {what} is {kind}: send an object with {names}."
    assert values == {"what": "basket", "kind": kind, "names": "a, b"}


def test_a_field_that_lacks_and_one_that_nobody_reads():
    assert refusal(Fields.of, {"a": 1}, "basket", {"a", "b"})[1]["names"] == "b"
    template, values = refusal(Fields.of, {"a": 1, "z": 2}, "basket", {"a"}, {"b"})
    assert "which nobody reads" in template and values == {"what": "basket", "names": "z", "allowed": "a, b"}
    assert Fields.of({"a": 1, "b": 2}, "basket", {"a"}, {"b"}).values == {"a": 1, "b": 2}
    assert Fields.of({"a": 1}, "basket", {"a"}, {"b"}).what == "basket"


def test_names_that_somebody_else_chose_stay_short_and_safe():
    odd = {f"x{number}": 1 for number in range(12)} | {"y" * 99: 1, "ü\n": 1}
    names = refusal(Fields.of, odd, "basket", set())[1]["names"]
    assert names.endswith("…") and names.count(", ") == 7 and names.isascii() is False
    assert refusal(Fields.of, {"ü": 1}, "basket", set())[1]["names"] == "\\xfc"
    assert refusal(Fields.of, {"y" * 99: 1}, "basket", set())[1]["names"] == "y" * 30
    eight = {f"x{number}": 1 for number in range(8)}
    assert "…" not in refusal(Fields.of, eight, "basket", set())[1]["names"]


@pytest.mark.parametrize("value", [0, 9, True, 1.0, "1", None])
def test_a_whole_number_is_one_and_in_its_range(value):
    assert refusal(of(value).whole, "it", 1, 8)[1]["allowed"] == "a whole number from 1 to 8"


def test_whole_numbers_at_both_ends():
    assert (of(1).whole("it", 1, 8), of(8).whole("it", 1, 8)) == (1, 8)
    assert of(None).optional_whole("it", 1, 8) is None and Fields("basket", {}).optional_whole("it", 1, 8) is None
    assert of(8).optional_whole("it", 1, 8) == 8
    assert refusal(of(9).optional_whole, "it", 1, 8)[1]["value"] == "9"


@pytest.mark.parametrize("value", [1, None, "", "   ", "123456", "x" * 21, ["x"]])
def test_text_has_one_letter_to_so_many(value):
    assert refusal(of(value).text, "it", 5)[1]["allowed"] == "text of 1 to 5 characters"


def test_text_is_composed_and_trimmed_before_it_is_counted():
    assert of("  e\u0301te\u0301 ").text("it", 3) == "été"  # Unicode Annex 15: NFC
    assert of("12345").text("it", 5) == "12345"
    assert of("a\n\tb").text("it", 5) == "a\n\tb"


@pytest.mark.parametrize("value", ["a\x00b", "a\x1bb", "a\ud800b", "a\x7fb"])
def test_control_characters_and_halves_of_pairs_are_refused(value):
    assert refusal(of(value).text, "it", 5)[1]["allowed"] == "text without control characters"


def test_no_text_where_none_is_needed():
    assert of("").optional_text("it", 5) is None and of(None).optional_text("it", 5) is None
    assert Fields("basket", {}).optional_text("it", 5) is None
    assert of("x").optional_text("it", 5) == "x"


ID = "1c0f5f6e-3d0a-4b7e-9a53-6c2f8d41e7b9"


@pytest.mark.parametrize(
    "value", [ID.upper(), ID.replace("-", ""), f"{{{ID}}}", "5185953e-eb08-11f1-bf30-02fc00000001", "x", 1, None]
)
def test_an_id_is_a_random_uuid_as_it_is_written(value):
    assert refusal(of(value).uuid, "it")[1]["allowed"] == "a random UUID in lower case with hyphens"


def test_ids():
    assert of(ID).uuid("it") == of(ID).optional_uuid("it") == UUID(ID)
    assert of(None).optional_uuid("it") is None and Fields("basket", {}).optional_uuid("it") is None


@pytest.mark.parametrize("value", ["PEAR", "", 1, None, ["pear"]])
def test_a_choice_is_one_of_the_words(value):
    assert refusal(of(value).choice, "it", Fruit)[1]["allowed"] == "pear, plum"


def test_choices_tables_and_lists():
    assert of("plum").choice("it", Fruit) is Fruit.PLUM
    assert of({"a": 1}).table("it") == {"a": 1}
    assert refusal(of([]).table, "it")[1]["allowed"] == "an object"
    assert of([1, 2]).listing("it", 2) == [1, 2]
    for value in ([1, 2, 3], "ab", None, {}):
        assert refusal(of(value).listing, "it", 2)[1]["allowed"] == "a list of at most 2"


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (None, "nothing"),
        (False, "false"),
        ([1, 2], "a list of 2"),
        ([], "a list"),
        ({}, "an object"),
        ("ü", "'\\xfc'"),
        ("x" * 38, f"'{'x' * 38}'"),
        ("x" * 39, f"'{'x' * 39}…"),
    ],
)
def test_what_was_found_is_shown_short_and_plain(value, shown):
    assert refusal(of(value).whole, "it", 1, 8)[1]["value"] == shown
