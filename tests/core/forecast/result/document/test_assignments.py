"""A suggestion is held against how things stand when somebody accepts it."""

from datetime import date

import pytest

from buildlog.core.forecast.result.document.assignments import Assignment, AssignmentsDocument, SegmentNow
from buildlog.core.forecast.result.document.coding import Fact, Moment

NINE = Moment.fromisoformat("2026-03-02T09:00+01:00")
CREW = ("Marek", "Noor")


def suggestion(segment="R1-1", helper="Noor"):
    return Assignment(segment, helper, "populate", NINE, (10, 0, 0, 0))


@pytest.mark.parametrize(
    ("now", "crew", "says"),
    [
        (SegmentNow("", (10, 0, 0, 0)), CREW, ""),
        (SegmentNow("", (10, 0, 0, 0), "Noor"), CREW, ""),
        (None, CREW, "R1-1 is not in the plan any more."),
        (SegmentNow("", (10, 0, 0, 0)), ("Marek",), "R1-1: Noor does not work here any more."),
        (SegmentNow("Marek", (10, 0, 0, 0)), CREW, "R1-1 is Marek’s already."),
        (SegmentNow("", (11, 0, 0, 0)), CREW, "R1-1 was ticked meanwhile."),
        (SegmentNow("", (10, 0, 0, 0), "Marek"), CREW, "Marek is at R1-1 right now."),
    ],
)
def test_why_it_cannot_be_assigned_as_suggested(now, crew, says):
    assert suggestion().why_not(now, crew) == says


def test_what_each_is_to_get():
    all_of_them = (suggestion(), suggestion("R2-1", "Marek"), suggestion("R3-1"))
    document = AssignmentsDocument(
        day=date(2026, 3, 2), assignments=all_of_them, walk=(3.0, 2.0), sentence=Fact("all_assigned", {"day": "x"})
    )
    assert document.of("Noor") == (all_of_them[0], all_of_them[2]) and document.of(None) == all_of_them
    assert document.helpers == (("Noor", document.of("Noor")), ("Marek", all_of_them[1:2]))
    assert document.of("Pia") == ()
