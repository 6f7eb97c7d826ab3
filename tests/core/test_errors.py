"""Refusals: a sentence, the field and the row it belongs to, all of them at once."""

import pytest

from buildlog.core.errors import Problem, Refused, Unreadable
from buildlog.core.wording import Sentence


@pytest.mark.parametrize(
    ("problem", "where"),
    [
        (Problem("No."), ""),
        (Problem("No.", "name"), "name"),
        (Problem("No.", "", 3), "row 3"),
        (Problem("No.", "name", 3), "row 3, name"),
        (Problem("No.", "name", 0), "row 0, name"),
    ],
)
def test_a_problem_says_where_it_is(problem, where):
    assert problem.where == where
    assert str(problem) == (f"{where}: No." if where else "No.")


def test_the_same_problem_of_another_place():
    problem = Problem("{code} is gone.", "code", 3, code="R1-1")
    assert (problem.at(row=4).field, problem.at(row=4).row) == ("code", 4)
    assert (problem.at("segment").field, problem.at("segment").row) == ("segment", 3)
    assert problem.at("").where == "row 3"
    assert problem.at("segment").what == "R1-1 is gone."


def test_a_sentence_that_is_made_already_is_kept():
    sentence = Sentence("{code} is gone.", code="R1-1")
    assert Problem(sentence).sentence is sentence and Unreadable(sentence).sentence is sentence


def test_a_problem_cannot_be_changed():
    with pytest.raises(AttributeError):
        Problem("No.").field = "name"


def test_all_problems_are_refused_at_once():
    problems = (Problem("No.", "name"), Problem("Not so.", "", 2))
    assert Refused(problems).problems == Refused(iter(problems)).problems == problems
    assert Refused(problems[0]).problems == problems[:1]
    assert str(Refused(problems)) == "name: No.; row 2: Not so."


def test_what_cannot_be_read_is_a_value_error_with_its_sentence():
    wrong = Unreadable("{text!r} is no day.", text="x")
    assert isinstance(wrong, ValueError) and str(wrong) == "'x' is no day."
