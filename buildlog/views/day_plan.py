"""The day plan: who takes which segments when, as a suggestion."""

from __future__ import annotations

from datetime import date

from django.http import HttpResponse
from django.views.decorators.http import require_safe

from buildlog.access import BuildRequest, member_only
from buildlog.core.forecast.result.document.day_plan import DayPlanDocument
from buildlog.drawings.day_chart import day_drawing
from buildlog.forms.what_if import DayPlanForm
from buildlog.queries.questions import day_plan_of
from buildlog.views.answers import show


@member_only
@require_safe
def page(request: BuildRequest) -> HttpResponse:
    """The first day to come, another one or all; everybody, or one helper."""
    question, plan = day_plan_of(request.build) or (None, None)
    if plan is None or not plan.dates:
        return show(request, "forecast/day_plan.html", question=question, plan=plan, active="forecast")
    names = [(day.isoformat(), f"{day:%a} {day.day} {day:%b %Y}") for day in plan.dates]
    chooser = DayPlanForm(names, plan.helpers, request.GET)
    day, helper = _chosen(chooser, plan)
    days = plan.days(day, helper)
    return show(
        request, "forecast/day_plan.html", question=question, plan=plan, chooser=chooser, day=day, helper=helper,
        days=[(workday, day_drawing(workday, request.build.zone)) for workday in days], active="forecast",
    )  # fmt: skip


def _chosen(chooser: DayPlanForm, plan: DayPlanDocument) -> tuple[date | None, str | None]:
    """Day (None = all) and helper (None = everybody). Nothing said: the first day; of one helper, all days."""
    choice = chooser.cleaned_data if chooser.is_valid() else {}
    helper = choice.get("helper") or None
    day = choice.get("day") or ("all" if helper else plan.dates[0].isoformat())
    return (None if day == "all" else date.fromisoformat(day)), helper
