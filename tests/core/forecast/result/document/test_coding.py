"""Documents: read without the compiler, refused by the path of what does not fit, earlier releases' still read."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime

import pytest

from buildlog.core.errors import Refused
from buildlog.core.forecast.input import hours_of
from buildlog.core.forecast.result.document.coding import Fact, decode, encode, moment, moment_or_none, printed
from buildlog.core.forecast.result.document.forecast import ForecastDocument
from buildlog.core.forecast.result.document.target import TargetDocument
from buildlog.core.forecast.result.fact_words import BLOCKS, PHRASES
from tests.core.forecast.result.test_track_record import report
from tests.core.forecast.small import words

DOCUMENTS = ["coding", "forecast", "day_plan", "assignments", "target", "what_if"]


def test_documents_and_sentences_are_read_without_the_compiler():
    names = [f"buildlog.core.forecast.result.document.{name}" for name in DOCUMENTS]
    names += ["buildlog.core.forecast.result.sentences", "buildlog.core.forecast.questions.request"]
    asked = f"import sys, {', '.join(names)}; print(sorted({{'numba', 'scipy'}} & sys.modules.keys()))"
    answer = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert answer.stdout.strip() == "[]"


@pytest.mark.parametrize(
    ("part", "path", "what"),
    [
        ({"trials": 0}, "$.trials", "Expected int >= 1"),
        ({"pixels": {"total": -1}}, "$.pixels[...]", "Expected int >= 0"),
        ({"as_of": "yesterday"}, "$.as_of", "Invalid isoformat string"),
        ({"finish": None}, "$.finish", "Expected object, got null"),
        ({"target": {"date": "2026-03-02T18:00+00:00", "probability": 1.5}}, "$.target.probability", "<= 1"),
    ],
)
def test_what_does_not_fit_is_refused_with_its_path(part, path, what):
    with pytest.raises(Refused) as refused:
        decode(ForecastDocument, encode(report(1, 0.1)) | part)
    (problem,) = refused.value.problems
    assert problem.field == path and what in problem.what


def test_a_document_reads_back_as_it_was():
    saved = report(3, 0.3, target=9)
    assert decode(ForecastDocument, encode(saved)) == saved


def test_answers_of_the_release_that_stored_sentences_still_read():
    stored = {
        "build": "SHED", "as_of": "2026-03-02T09:00+01:00", "trials": 500, "seed": 1, "target": None, "chance": 0.8,
        "probability": 0.81, "enough": True, "hours": 0, "helpers": 0, "shifts": [], "steps": [],
        "sentence": "Nothing more is needed {really}.",
    }  # fmt: skip
    document = decode(TargetDocument, stored)
    assert words(document.sentence) == stored["sentence"] and document.margin_points == 0 and not document.hand_over


def test_every_reason_has_a_sentence_and_a_phrase():
    assert PHRASES.keys() == BLOCKS.keys() and words(Fact("no_helpers")).startswith("There are no helpers yet")


def test_odds_rise_whatever_order_a_pack_had_them_in():
    """Keys of an object are texts there and sorted as such: 5 comes after 45."""
    days = {percent: f"2026-03-{1 + percent // 5:02}T09:00+00:00" for percent in (10, 45, 5, 50)}
    stored = encode(report(1, 0.1)) | {"odds": {str(percent): days[percent] for percent in (10, 45, 5, 50)}}
    assert list(decode(ForecastDocument, stored).ready) == [5, 10, 45, 50]


def test_only_what_documents_hold_is_coded():
    with pytest.raises(NotImplementedError, match="no part of a document"):
        encode(Fact("no_room", {"stage": object()}))
    with pytest.raises(NotImplementedError, match="no part of a document"):
        decode(complex, "1+1j")
    assert encode(Fact("no_helpers")) == {"code": "no_helpers"}


def test_what_is_no_document_at_all_is_refused():
    for stored in (None, [], "x", 3):
        with pytest.raises(Refused) as refused:
            decode(ForecastDocument, stored)
        assert refused.value.problems[0].sentence.values["what"].startswith("Expected `object`".replace("`", ""))


def test_facts_are_printed_in_words_wherever_they_stand():
    plain = printed(report(1, 0.1), words)
    assert plain["sentence"] == "Everything is done: nothing is left to forecast."
    assert plain["as_of"] == encode(report(1, 0.1))["as_of"]


def test_moments_are_to_the_minute_in_the_builds_own_zone():
    at = hours_of(datetime(2026, 3, 29, 1, 0, 31, tzinfo=UTC))
    assert moment(at, "Europe/Oslo").isoformat() == "2026-03-29T03:01:00+02:00"
    assert moment_or_none(at, "Europe/Oslo") == moment(at, "Europe/Oslo") and moment_or_none(None, "UTC") is None


def test_a_warning_of_an_earlier_release_stays_in_its_words():
    stored = encode(report(1, 0.1)) | {"warnings": ["Look {here}.", {"code": "nothing_measured"}]}
    del stored["missing_hours"]
    document = decode(ForecastDocument, stored)
    assert [warning.code for warning in document.warnings] == ["written", "nothing_measured"]
    assert words(document.warnings[0]) == "Look {here}." and document.missing_hours == 0
