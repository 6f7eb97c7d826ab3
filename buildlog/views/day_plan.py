"""The day plan: who takes which segments when, as a suggestion."""

from __future__ import annotations

from datetime import date

from django.http import HttpResponse
from django.views.decorators.http import require_safe

from buildlog.access import BuildRequest, member_only
from buildlog.core.forecast.questions.roster import Roster
from buildlog.drawings.day_chart import day_drawing
from buildlog.forms.what_if import DayPlanForm
from buildlog.queries.questions import day_plan_of
from buildlog.views.answers import show


@member_only
@require_safe
def page(request: BuildRequest) -> HttpResponse:
    """The first day to come, another one or all; everybody, or one helper."""
    found = day_plan_of(request.build)
    question, roster = found or (None, None)
    if roster is None or not roster.dates:
        return show(request, "forecast/day_plan.html", question=question, roster=roster, active="forecast")
    names = [(day.isoformat(), f"{day:%a} {day.day} {day:%b %Y}") for day in roster.dates]
    chooser = DayPlanForm(names, roster.helpers, request.GET)
    day, helper = _chosen(chooser, roster)
    days = roster.days(day, helper)
    return show(
        request, "forecast/day_plan.html", question=question, roster=roster, chooser=chooser, day=day, helper=helper,
        days=[(one, day_drawing(one, request.build.zone)) for one in days], active="forecast",
    )  # fmt: skip


def _chosen(chooser: DayPlanForm, roster: Roster) -> tuple[date | None, str | None]:
    """Day (None = all) and helper (None = everybody). Nothing said: the first day; of one helper, all days."""
    said = chooser.cleaned_data if chooser.is_valid() else {}
    helper = said.get("helper") or None
    day = said.get("day") or ("all" if helper else roster.dates[0].isoformat())
    return (None if day == "all" else date.fromisoformat(day)), helper
