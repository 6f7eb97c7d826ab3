"""A database of the release that kept no rings is taken over: its plan is then the one that would be frozen today."""

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from buildlog.core.plan.plan import compute
from buildlog.models import Build
from buildlog.queries.audit import differences
from buildlog.queries.ball_plan import as_built
from tests.people import BALL, MONDAY, begin_build

BEFORE = [("buildlog", "0007_saved_forecasts")]


def migrate(to):
    executor = MigrationExecutor(connection)
    executor.migrate(to)
    return executor.loader.project_state(to).apps.get_model


def kept_without_rings(model, code: str, frozen: bool) -> None:
    """A plan as that release kept it: segments, and runs at their places."""
    plan = compute(BALL)
    build = model("buildlog", "Build").objects.create(code=code, name=code, time_zone="UTC", created_at=MONDAY)
    build.plans.create(parameters=BALL.to_json(), created_at=MONDAY, frozen_at=MONDAY if frozen else None)
    rows = {
        segment.code: build.segments.create(
            ring=segment.ring, piece=segment.piece, code=segment.code, label=f"{code[0]}{number}",
            first_pixel=segment.first_pixel, pixels=segment.pixels, from_deg=segment.from_deg, to_deg=segment.to_deg,
            closing=segment.closing,
        )
        for number, segment in enumerate(plan.segments)
    }  # fmt: skip
    for channel in plan.channels:
        for position, run in enumerate(channel.runs, start=1):
            rows[run.segment].runs.create(
                channel=channel.number, position=position, first=run.first, last=run.last, reversed=run.reversed
            )


@pytest.mark.django_db(transaction=True)
def test_a_build_from_before_rings_were_kept_is_as_if_frozen_today():
    try:
        model = migrate(BEFORE)
        kept_without_rings(model, "OLD", frozen=True)
        kept_without_rings(model, "DRAFT", frozen=False)
    finally:
        migrate(MigrationExecutor(connection).loader.graph.leaf_nodes())
    old, draft = Build.objects.get(code="OLD"), Build.objects.get(code="DRAFT")
    assert differences(old) == differences(draft) == []
    assert as_built(old.plans.get()) == as_built(begin_build("NEW").plans.get())
    assert draft.plans.get().built == draft.plans.get().wiring == {}
    assert [run.begins for run in draft.runs.all()] == [run.begins for run in old.runs.all()]
