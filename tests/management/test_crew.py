"""Leaving and returning by command."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import call_command


def say(*words: str) -> str:
    out = StringIO()
    call_command("crew", *words, "--build", "shed", stdout=out)
    return out.getvalue()


def test_a_person_leaves_and_returns_each_with_a_line_on_record(shed, helper):
    assert say("leave", "marek") == "Marek has left the crew of Shed of SHED (SHED).\n"
    helper.refresh_from_db()
    assert helper.left_at is not None and helper.pin == ""
    assert say("return", "Marek") == say("return", "Marek") == "Marek is in the crew of Shed of SHED (SHED).\n"
    assert list(shed.records.values_list("verb", flat=True))[:2] == ["person returns", "person leaves"]


def test_a_name_that_is_none_is_answered_with_those_there_are(shed, helper):
    err = StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("crew", "return", "Nobody", "--build", "SHED", stderr=err)
    assert ended.value.code == 1 and "There is no person 'Nobody'; there are: Ilse, Marek." in err.getvalue()
