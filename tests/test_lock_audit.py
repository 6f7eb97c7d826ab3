"""The audit of the locks: what it makes of answers, of half an answer and of none."""

import json

import pytest

from tests.lock_audit import NOT_ASKED, verdict

CLEAN = {"name": "segno", "version": "1.6.6", "vulns": []}
SKIPPED = {"name": "tzdata", "skip_reason": "not found"}
BAD = {"name": "numpy", "version": "1.0", "vulns": [{"id": "PYSEC-1", "fix_versions": ["1.1", "2.0"]}]}


def answer(*packages) -> str:
    return json.dumps({"dependencies": packages, "fixes": []})


@pytest.mark.parametrize("document", ["", "no route to host", answer(), answer(SKIPPED, SKIPPED)])
def test_nobody_who_answers_is_said_and_stops_nothing(document):
    assert verdict(document) == (NOT_ASKED, 0)


def test_a_known_vulnerability_stops_and_is_named():
    says, code = verdict(answer(CLEAN, BAD, SKIPPED))
    assert code == 1
    assert says.splitlines() == [
        "packages audited: 2, known vulnerabilities: 1, packages of which nothing could be learnt: 1",
        "numpy 1.0: PYSEC-1, mended in 1.1, 2.0",
    ]


def test_a_clean_answer_passes():
    assert verdict(answer(CLEAN)) == ("packages audited: 1, known vulnerabilities: 0", 0)
