"""A build in the middle of things, so that every screen has something to show."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from buildlog import answering, forecasting
from buildlog.actions import builds, crew, jobs, questions, stints
from buildlog.core.forecast.questions.request import WhatIfRequest
from buildlog.core.work.stages import Stage
from buildlog.models import Note
from tests.people import give, join_crew, start_stint, work_through


@pytest.fixture
def busy(shed, helper, other_helper, viewer, lead, monkeypatch):
    """The shed in the middle of things; forecasts are made of few trials."""
    for module, name in ((forecasting, "TRIALS"), (answering, "TRIALS"), (answering, "TAKES_TRIALS")):
        monkeypatch.setattr(module, name, 20)
    now = timezone.now()
    for day in range(40):
        helper.shifts.create(starts_at=now + timedelta(days=day, hours=1), ends_at=now + timedelta(days=day, hours=3))
    builds.describe(build=shed, by=lead, now=now, target_at=now + timedelta(days=9))
    jobs.put(build=shed, name="Controller box", hours=(1, 2, 3), hands=1)
    give(shed, helper, "R1-1", "R2-1", "R4-1")
    work_through(shed.segments.get(code="R4-1"), Stage.WIRE, by=other_helper, at=now - timedelta(hours=30))
    Note.objects.create(build=shed, segment=shed.segments.get(code="R1-1"), by=helper, at=now, says="Torn.")
    start_stint(helper, segment=shed.segments.get(code="R1-1"), at=now - timedelta(hours=20))
    stints.close_forgotten(build=shed, now=now)
    join_crew(shed, "Wilhelmina-Charlotte van der Veen-Zuiderduin")
    crew.leave(person=join_crew(shed, "Maximiliane-Friederike Freifrau zu Guttendorf-Weyer"), by=lead, now=now)
    _ask(shed, now)
    return shed


def _ask(build, now) -> None:
    """A forecast; questions to it that are answered, that cannot be, and one that waits; a day plan."""
    forecasting.refresh(build, now)
    questions.what_if(build=build, request=WhatIfRequest(name="Three inside", people=(("wire", 3),)), now=now)
    questions.what_it_takes(build=build, percent=80, now=now)
    while answering.answer_next(build, now) is not None:
        pass
    refused = questions.what_if(build=build, request=WhatIfRequest(name="Without Noor", without=("Noor",)), now=now)
    questions.save(question=refused, now=now, refusal="Nobody of this name counts any more: choose another.")
    questions.what_if(build=build, request=WhatIfRequest(name="Nothing fails", rework=False), now=now)
