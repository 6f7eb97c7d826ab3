"""Cells of a lead's table: read as people write them, or refused with the sentence that belongs beside them."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from buildlog.core import cells
from buildlog.core.errors import Unreadable

OSLO = ZoneInfo("Europe/Oslo")  # clocks go from 02:00 to 03:00 on 29 March 2026, from 03:00 to 02:00 on 25 October
LORD_HOWE = ZoneInfo("Australia/Lord_Howe")  # clocks change by half an hour (IANA time zone database)


def unread(read, *given):
    """Template and values of the refusal."""
    with pytest.raises(Unreadable) as refused:
        read(*given)
    return refused.value.sentence.template, dict(refused.value.sentence.values)


@pytest.mark.parametrize(("text", "number"), [("40", 40), ("+7", 7), ("-3", -3), ("0", 0), ("1812", 1812)])
def test_whole_numbers(text, number):
    assert cells.whole(text, -3) == number


def test_a_whole_number_may_be_the_least_and_the_most_and_nothing_beyond():
    assert (cells.whole("1", 1, 8), cells.whole("8", 1, 8)) == (1, 8)
    for text in ("0", "9"):
        template, values = unread(cells.whole, text, 1, 8)
        assert template.startswith("{text!r} is out of range") and values == {"text": text, "least": 1, "most": 8}


@pytest.mark.parametrize(
    ("text", "digits", "as_decimal"),
    [("1,812", "1812", "1.812"), ("12.500", "12500", "12.5"), ("12 000", "12000", "12"), ("-1.200", "-1200", "-1.2")],
)
def test_a_mark_between_thousands_could_be_a_decimal_point(text, digits, as_decimal):
    template, values = unread(cells.whole, text, 1)
    assert "could be {as_decimal} or {digits}" in template
    assert values == {"text": text, "digits": digits, "as_decimal": as_decimal}


@pytest.mark.parametrize("text", ["1'812'000", "1.812.000", "1 812 000"])
def test_two_marks_are_no_decimal_points(text):
    template, values = unread(cells.whole, text, 1)
    assert "marks between its thousands" in template and values == {"text": text, "digits": "1812000"}


@pytest.mark.parametrize(
    ("text", "part", "number"),
    [
        ("", "Nothing is there", None),
        ("forty", "is not a number", None),
        ("40.0", "is not written as a whole number", 40),
        ("4e1", "is not written as a whole number", 40),
        ("39,6", "is not whole", 40),
        ("1e12", "is not whole", 40),  # too large to be proposed: the example stands there
        ("1e9", "is not whole", 40),
        ("nan", "is not whole", 40),
    ],
)
def test_what_is_no_whole_number_is_said_by_kind(text, part, number):
    template, values = unread(cells.whole, text, 1)
    assert part in template and values.get("number") == number


@pytest.mark.parametrize(
    ("text", "number"), [("1812.5", 1812.5), ("1812,5", 1812.5), (".5", 0.5), ("-2", -2.0), ("3.", 3.0)]
)
def test_decimals_have_a_point_or_a_comma(text, number):
    assert cells.decimal(text, -2) == number


@pytest.mark.parametrize("text", ["1,812.5", "1 812", "1e3", "nan", "inf", "x", "1.2.3"])
def test_no_thousands_marks_and_no_powers_in_a_decimal(text):
    template, values = unread(cells.decimal, text, 0)
    assert "is not a plain number" in template and values == {"text": text}


def test_a_decimal_keeps_to_its_range_ends_included():
    assert (cells.decimal("0", 0, 24), cells.decimal("24", 0, 24)) == (0, 24)
    assert unread(cells.decimal, "24.1", 0, 24)[1] == {"text": "24.1", "least": 0, "most": 24}
    assert unread(cells.decimal, "-0.1", 0, 24)[0].startswith("{text!r} is out of range")
    assert unread(cells.decimal, "", 0)[0].startswith("Nothing is there")


def test_days_are_iso_days_of_years_in_which_things_are_built():
    assert cells.day("1990-01-01") == date(1990, 1, 1) and cells.day("2199-12-31") == date(2199, 12, 31)
    for text, year in (("1989-12-31", 1989), ("2200-01-01", 2200)):
        assert unread(cells.day, text)[1] == {"year": year, "first_year": 1990, "last_year": 2199}


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("2.5.2026", "is the day or the month first"),
        ("02/05/2026", "is the day or the month first"),
        ("2026-5-2", "is not a day"),
        ("May", "is not a day"),
        ("2026-02-30", "There is no day"),
    ],
)
def test_a_day_that_is_none_is_refused(text, part):
    assert part in unread(cells.day, text)[0]


def test_a_day_in_another_order_is_proposed_in_iso():
    with pytest.raises(Unreadable, match="Write 2026-05-02"):
        cells.day("2.5.2026")


@pytest.mark.parametrize(
    ("text", "at"), [("09:00", time(9)), ("9.30", time(9, 30)), ("09:00:30", time(9, 0, 30)), ("23:59", time(23, 59))]
)
def test_times_of_day(text, at):
    assert cells.clock(text) == at


@pytest.mark.parametrize("text", ["", "9", "24:00", "09:60", "9:5", "nine", "09:00:61"])
def test_no_time_of_day(text):
    assert "is not a time of day" in unread(cells.clock, text)[0]


@pytest.mark.parametrize(("text", "number"), [("mon", 0), ("Monday", 0), ("THU", 3), ("sund", 6)])
def test_weekdays_by_three_letters_or_more(text, number):
    assert cells.weekday(text) == number


@pytest.mark.parametrize("text", ["", "mo", "s", "Samstag", "monday "])
def test_no_weekday(text):
    assert "is not a weekday" in unread(cells.weekday, text)[0]


def test_a_moment_with_its_offset_is_one_already():
    assert cells.moment("2026-05-02T09:00+05:00", OSLO) == datetime(2026, 5, 2, 4, tzinfo=UTC)
    assert cells.moment("2026-05-02 09:00", OSLO) == datetime(2026, 5, 2, 7, tzinfo=UTC)
    assert cells.moment("2026-05-02 09:00", OSLO).tzinfo is UTC


@pytest.mark.parametrize("text", ["", "2026-05-02", "20260502", "tomorrow", "2026-05-02 25:00"])
def test_a_day_alone_or_a_word_is_no_moment(text):
    assert "is not a time" in unread(cells.moment, text, OSLO)[0]


def test_a_moment_of_another_century_is_refused():
    assert unread(cells.moment, "1026-05-02 09:00", OSLO)[1]["year"] == 1026


def test_the_skipped_hour_does_not_exist():
    template, values = unread(cells.moment, "2026-03-29 02:30", OSLO)
    assert "does not exist" in template and values["key"] == "Europe/Oslo"
    assert cells.moment("2026-03-29 03:00", OSLO) == datetime(2026, 3, 29, 1, tzinfo=UTC)


def test_the_doubled_hour_is_asked_for_with_both_offsets():
    template, values = unread(cells.moment, "2026-10-25 02:30", OSLO)
    assert "comes twice" in template
    assert {"2026-10-25T02:30+02:00", "2026-10-25T02:30+01:00"} <= set(values.values())


def test_a_shift_over_midnight_ends_the_next_day_and_one_of_no_length_lasts_a_day():
    monday = date(2026, 3, 2)
    assert cells.shift(monday, time(22), time(6), OSLO) == (
        datetime(2026, 3, 2, 21, tzinfo=UTC), datetime(2026, 3, 3, 5, tzinfo=UTC),
    )  # fmt: skip
    start, end = cells.shift(monday, time(9), time(9), OSLO)
    assert end - start == timedelta(days=1)
    start, end = cells.shift(monday, time(9), time(17), OSLO)
    assert end - start == timedelta(hours=8)


def test_a_shift_in_the_doubled_hour_is_the_longer_reading():
    start, end = cells.shift(date(2026, 10, 25), time(2, 15), time(2, 45), OSLO)
    assert end - start == timedelta(minutes=90)


def test_what_lies_in_the_skipped_hour_alone_takes_no_time():
    start, end = cells.shift(date(2026, 3, 29), time(2, 10), time(2, 50), OSLO)
    assert start == end == datetime(2026, 3, 29, 1, tzinfo=UTC)


def test_half_an_hour_that_is_skipped():
    """Lord Howe Island: 02:00 becomes 02:30 on 4 October 2026, which is 15:30 UTC the day before."""
    start, end = cells.shift(date(2026, 10, 4), time(2, 10), time(3, 0), LORD_HOWE)
    assert (start, end) == (datetime(2026, 10, 3, 15, 30, tzinfo=UTC), datetime(2026, 10, 3, 16, tzinfo=UTC))


def test_empty_parts_between_semicolons_are_nothing():
    assert cells.several("populate;; mount ;") == ("populate", "mount")
    assert cells.several(" ; ") == ()
