"""The Forecast screens of builds that are odd in one way or in two: they open, say why, and show no figure made up."""

from __future__ import annotations

import json
import re
from itertools import combinations

import pytest
from django.urls import reverse

from buildlog import answering, forecasting
from buildlog.actions import questions
from buildlog.answering import answer_next
from buildlog.core.forecast.questions.request import WhatIfRequest
from buildlog.core.forecast.result.document.coding import Fact, decode, printed
from buildlog.words import in_words
from tests.odd_builds import ODD, ordinary
from tests.people import MONDAY

pytestmark = pytest.mark.screen

BROKEN = re.compile(r"\b(nan|inf|infinity|none|null)\b|\{\{|\{%", re.IGNORECASE)
# Each way alone and with the next two; with every other way before a release.
NEAR = 2
WAYS = [(way,) for way in ODD]
for (begin, first), (end, second) in combinations(enumerate(ODD), 2):
    WAYS.append(pytest.param((first, second), marks=[] if end - begin <= NEAR else pytest.mark.long))
STUCK = {"nobody in the crew", "nobody available", "limit 0", "hands that do not fit", "helpers without skills"}


@pytest.fixture(autouse=True)
def few_trials(monkeypatch):
    for module, name in ((forecasting, "TRIALS"), (answering, "TRIALS"), (answering, "TAKES_TRIALS")):
        monkeypatch.setattr(module, name, 8)


@pytest.mark.parametrize("ways", WAYS, ids=" and ".join)
def test_its_screens_say_what_is_missing_and_show_nothing_made_up(shed, lead, sign_in, ways):
    ordinary(shed)
    for way in ways:
        ODD[way](shed)
    forecasting.refresh(shed, MONDAY)
    if len(ways) == 1:
        questions.what_if(build=shed, request=WhatIfRequest("No failures", rework=False), now=MONDAY)
    questions.what_it_takes(build=shed, percent=80, now=MONDAY)
    while answer_next(shed, MONDAY) is not None:
        pass
    report = printed(shed.forecasts.get().document, in_words)
    json.dumps([report, *shed.questions.values_list("answer", flat=True)], allow_nan=False)
    client, pages = sign_in(lead), {}
    for name in ("forecast", "what_if", "day_plan"):
        pages[name] = _words(client.get(reverse(name, args=["SHED"])).content.decode())
        assert not BROKEN.search(pages[name]), f"{name}: {BROKEN.search(pages[name])}"
    assert report["sentence"] in pages["forecast"]
    assert all(warning in pages["forecast"] for warning in report["warnings"])
    if "all done" in ways:
        assert report["sentence"].startswith("Everything is done") and "Everything is done" in pages["day_plan"]
    elif STUCK & set(ways):
        assert report["sentence"].startswith("No date can be given: ") and report["finish"]["p10"] is None
        assert "% sure" not in report["sentence"] and "still to find" not in report["sentence"]
    for question in shed.questions.exclude(kind="day_plan"):
        said = question.refusal or in_words(
            decode(Fact, question.answer.get("sentence") or question.answer["report"]["sentence"])
        )
        assert said in pages["what_if"]


def _words(page: str) -> str:
    """What a page says, without marks and drawings."""
    page = re.sub(r"<(script|style|svg)\b.*?</\1>|<[^>]*>", " ", page, flags=re.DOTALL)
    return re.sub(r"\s+", " ", page.replace("&nbsp;", " ").replace("\u00a0", " ").replace("&#x27;", "'"))
