"""The Plan screen: typed, looked at, kept as a draft, frozen; for everybody but the lead to read."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe
from django_htmx.http import reswap

from buildlog.access import BuildRequest, lead_only, member_only
from buildlog.actions import builds, plans
from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.plan import BallPlan
from buildlog.core.work.stages import Stage
from buildlog.drawings.plan_map import plan_map
from buildlog.drawings.side import from_the_side
from buildlog.files import kinds
from buildlog.files.out import as_xlsx, csv_pieces
from buildlog.files.plan_tables import PLAN_TABLES
from buildlog.forms.load import FileForm
from buildlog.forms.plan import PlanForm, PlanViewForm, without_ball
from buildlog.forms.refusals import show_refusal
from buildlog.imports import Import, alone
from buildlog.queries.plan import KeptPlan, kept_plan, mounted_of
from buildlog.views.answers import as_file, show
from buildlog.words import say


@member_only
@require_safe
def plan(request: BuildRequest) -> HttpResponse:
    """The form for the lead while the plan is a draft; the figures for everybody else."""
    kept = kept_plan(request.build)
    if request.person.is_lead and not kept.frozen:
        return _editor(request, kept, PlanForm(request.build, kept.parameters))
    look = PlanViewForm(request.GET, typing=False)
    shown = shown_of(request, kept, kept.ball, look)
    if request.htmx:
        return show(request, "plan/_answer.html", kept=kept, look=look, **shown)
    numbers = PlanForm(request.build, kept.parameters) if kept.parameters else None
    return show(request, "plan/figures.html", kept=kept, look=look, numbers=numbers, active="plan", **shown)


@lead_only
@require_POST
def plan_preview(request: BuildRequest) -> HttpResponse:
    """What the numbers give while they are typed. When they give nothing, only the errors are put in place."""
    kept = kept_plan(request.build)
    form, look = PlanForm(request.build, kept.parameters, request.POST), PlanViewForm(request.POST)
    made = form.shown()
    response = show(
        request, "plan/_answer.html", kept=kept, form=form, look=look, **shown_of(request, kept, made, look)
    )
    return response if made else reswap(response, "none")


@lead_only
def plan_keep(request: BuildRequest) -> HttpResponse:
    """Show without keeping (`do=show`), keep as the draft (`do=keep`), or keep and go on to freezing (`do=freeze`)."""
    if request.method != "POST":
        return redirect("plan", request.build.code)
    kept = kept_plan(request.build)
    form = PlanForm(request.build, kept.parameters, request.POST)
    wish = request.POST.get("do", "show")
    if wish == "show" or not form.is_valid() or not _keep(request, form):
        return _editor(request, kept, form)
    messages.success(
        request, f"Draft kept: {form.plan.totals.pixels:,} pixels, {form.plan.totals.segments:,} segments."
    )
    return redirect("plan_freeze" if wish == "freeze" else "plan", request.build.code)


@lead_only
@require_POST
def plan_rings(request: BuildRequest) -> HttpResponse:
    """A measured ring table in place of the formula; taken whole into the draft, or not at all."""
    kept = kept_plan(request.build)
    file, form = FileForm(request.POST, request.FILES), PlanForm(request.build, kept.parameters, request.POST)
    problems: tuple[Problem, ...] = ()
    if file.is_valid():
        try:
            form = _with_table(request, kept, file.cleaned_data["file"])
            if form.is_valid() and _keep(request, form):
                messages.success(
                    request, f"{len(form.measured or ())} rings loaded. They stand in place of the formula."
                )
                return redirect("plan", request.build.code)
        except Refused as refused:
            problems = refused.problems
    return _editor(request, kept, form, file=file, problems=problems, status=422)


@lead_only
def plan_freeze(request: BuildRequest) -> HttpResponse:
    """What freezing means, asked once more; then the plan is the one that the crew works by."""
    kept = kept_plan(request.build)
    if kept.parameters is None or kept.frozen:
        return redirect("plan", request.build.code)
    if request.method == "POST":
        plans.freeze(build=request.build, by=request.person, now=timezone.now())
        messages.success(request, "The plan is frozen. Segments can be handed out and worked on now.")
        return redirect("plan", request.build.code)
    return show(request, "plan/freeze.html", made=kept.ball, active="plan")


@lead_only
@require_POST
def plan_unfreeze(request: BuildRequest) -> HttpResponse:
    """Back to a draft; refused once work was logged."""
    try:
        plans.unfreeze(build=request.build, by=request.person, now=timezone.now())
        messages.success(request, "The plan is a draft again.")
    except Refused as refused:
        messages.error(request, say(refused.problems[0].sentence))
    return redirect("plan", request.build.code)


@member_only
@require_safe
def plan_table(request: BuildRequest, kind: str, end: str) -> HttpResponseBase:
    """One table of the plan as it is kept, as a file."""
    kept = kept_plan(request.build)
    if kind not in PLAN_TABLES or end not in ("csv", "xlsx") or kept.ball is None:
        raise Http404("There is no such table.")
    try:
        table = PLAN_TABLES[kind](kept.ball)
        content = as_xlsx(table) if end == "xlsx" else csv_pieces(table)
    except Refused as refused:
        messages.error(request, say(refused.problems[0].sentence))
        return redirect("plan", request.build.code)
    return as_file(content, f"{request.build.code}-{kind}.{end}")


def _editor(
    request: BuildRequest, kept: KeptPlan, form: PlanForm, status: int | None = None, **context: Any
) -> HttpResponse:
    look = PlanViewForm(request.POST or request.GET)
    file = context.pop("file", None) or FileForm()
    shown = shown_of(request, kept, form.shown(), look)
    response = show(request, "plan/page.html", kept=kept, form=form, look=look, file=file, active="plan",
                    **shown, **context)  # fmt: skip
    response.status_code = status or response.status_code
    return response


def shown_of(request: BuildRequest, kept: KeptPlan, made: BallPlan | None, look: PlanViewForm) -> dict[str, Any]:
    """What templates need of a plan: its look and both drawings."""
    if made is None:
        return {}
    sight = look.wanted(made, **_beside(request, kept, look.table))
    side = from_the_side(sight.belts, ribs_deg=sight.ribs_deg, turn_deg=look.turn_deg)
    return {"sight": sight, "map": plan_map(made), "side": side}


def _beside(request: BuildRequest, kept: KeptPlan, table: str) -> dict[str, Any]:
    """What the table asked for compares the plan with."""
    if table == "beside" and kept.parameters:
        rates = {Stage(stage): rate for stage, rate in request.build.standard_rates.items()}
        return {"other": kept.ball, "rates": rates}
    if table == "weight" and kept.frozen:
        return {"mounted": mounted_of(request.build)}
    return {}


def _with_table(request: BuildRequest, kept: KeptPlan, content: bytes) -> PlanForm:
    """The form with a table just read. Raises Refused with every bad row."""
    with alone(Import(uuid4())):
        reading = kinds.rings(content)
    if reading.problems:
        raise Refused(reading.problems)
    for remark in reading.remarks:
        messages.info(request, f"{remark[0].upper()}{remark[1:]}.")
    return PlanForm(request.build, kept.parameters, without_ball(request.POST, reading.rows), measured=reading.rows)


@transaction.atomic
def _keep(request: BuildRequest, form: PlanForm) -> bool:
    """Keep the draft, and how many people fit with the build."""
    now = timezone.now()
    try:
        plans.save(build=request.build, parameters=form.parameters, by=request.person, now=now)
    except Refused as refused:
        show_refusal(form, refused)
        return False
    builds.describe(build=request.build, by=request.person, now=now, people_limits=dict(form.parameters.people))
    return True
