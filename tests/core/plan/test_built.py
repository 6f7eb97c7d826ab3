"""What is kept of a plan as built reads back the same, and anything else is refused in a sentence."""

from __future__ import annotations

import json

import pytest

from buildlog.core.errors import Refused
from buildlog.core.plan.built import Built, built_of
from buildlog.core.plan.plan import compute
from tests.core.plan.conftest import BALL


@pytest.fixture(scope="module")
def facts() -> Built:
    return built_of(compute(BALL))


def test_it_reads_back_the_same(facts):
    assert Built.from_json(**json.loads(json.dumps(facts.to_json()))) == facts


@pytest.mark.parametrize(
    ("document", "name", "value"),
    [
        ("built", "ball", {}),
        ("built", "totals", {"rings": 1}),
        ("built", "warnings", [["of nothing known", {}]]),
        ("built", "warnings", [[]]),
        ("wiring", "channels", [{"lead_m": "far", "feeds": []}]),
        ("wiring", "supplies", None),
    ],
)
def test_what_is_bent_is_refused(facts, document, name, value):
    whole = facts.to_json()
    bent = whole | {document: whole[document] | {name: value}}
    with pytest.raises(Refused, match="as built cannot be read"):
        Built.from_json(**bent)


def test_an_empty_one_is_refused():
    with pytest.raises(Refused, match="as built cannot be read"):
        Built.from_json({}, {})
