"""A frozen plan revised: typed, looked at, decided, put in force."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from buildlog.access import BuildRequest, lead_only
from buildlog.actions import builds
from buildlog.actions import revise as acts
from buildlog.core.errors import Refused
from buildlog.core.plan.look import PlanLook
from buildlog.core.plan.proposal import Proposal
from buildlog.core.work.stages import Stage
from buildlog.forms.plan import PlanForm, PlanViewForm
from buildlog.forms.refusals import show_refusal
from buildlog.forms.revise import DecisionForm
from buildlog.queries.plan import KeptPlan, kept_plan
from buildlog.queries.revise import proposal_of
from buildlog.views.answers import show
from buildlog.views.plan import shown_of


@lead_only
def plan_revise(request: BuildRequest) -> HttpResponse:
    """Type (`do=show`), see what changes (`do=changes`), decide and put in force (`do=revise`)."""
    kept = kept_plan(request.build)
    if not kept.frozen:
        return redirect("plan", request.build.code)
    form = PlanForm(request.build, kept.parameters, request.POST or None)
    wish = request.POST.get("do", "show")
    if wish == "show" or not form.is_valid():
        look = PlanViewForm(request.POST)
        shown = shown_of(request, kept, form.shown(), look)
        return show(request, "plan/page.html", kept=kept, form=form, look=look, active="plan", **shown)
    assert kept.ball is not None, "a frozen plan has its rows"
    proposal = proposal_of(request.build, kept.ball, form.plan)
    deciding = DecisionForm(proposal, request.POST if wish == "revise" else None)
    if wish == "revise" and deciding.is_valid() and _put_in_force(request, form, deciding):
        return redirect("plan", request.build.code)
    return _changes(request, kept, form, proposal, deciding)


def _put_in_force(request: BuildRequest, form: PlanForm, deciding: DecisionForm) -> bool:
    now, looked_at = timezone.now(), request.POST.get("revision", "")
    answers = acts.Answers(deciding.decisions, deciding.redo_wiring)
    try:
        with transaction.atomic():
            made = acts.revise(
                build=request.build, parameters=form.parameters, answers=answers,
                revision=int(looked_at) if looked_at.isdecimal() else 0, by=request.person, now=now,
            )  # fmt: skip
            limits = dict(form.parameters.people)
            builds.describe(build=request.build, by=request.person, now=now, people_limits=limits)
    except Refused as refused:
        show_refusal(deciding, refused)
        return False
    messages.success(request, f"Plan {made.revision} is in force. Print labels for the new segments.")
    return True


def _changes(
    request: BuildRequest, kept: KeptPlan, form: PlanForm, proposal: Proposal, deciding: DecisionForm
) -> HttpResponse:
    rates = {Stage(stage): rate for stage, rate in request.build.standard_rates.items()}
    sight = PlanLook(form.plan, "beside", other=kept.ball, rates=rates)
    context: dict[str, Any] = {"kept": kept, "typed": form, "proposal": proposal, "form": deciding, "sight": sight}
    return show(request, "plan/changes.html", active="plan", **context)
