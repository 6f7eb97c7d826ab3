"""One segment: how it stands, ticking it, letting it count as not passed."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe
from django_htmx.http import trigger_client_event

from buildlog.access import BuildRequest, crew_only, lead_only, member_only
from buildlog.actions import ticks
from buildlog.core.errors import Refused
from buildlog.core.work.stages import STAGES, Stage
from buildlog.forms.refusals import show_refusal
from buildlog.forms.sphere import ReopenForm, SegmentTickForm
from buildlog.models import Segment
from buildlog.queries.segments import detail_of, find_segment, history_of
from buildlog.views.answers import show

Act = Callable[[BuildRequest, Segment, dict[str, Any]], str]  # what was done, as a sentence


@member_only
@require_safe
def segment(request: BuildRequest, segment: str) -> HttpResponse:
    return _show(request, _find(request, segment))


@crew_only
@require_POST
def tick(request: BuildRequest, segment: str) -> HttpResponse:
    """Some pixels of this segment have passed a stage."""
    return _do(request, _find(request, segment), SegmentTickForm(request.POST), _tick)


@lead_only
@require_POST
def reopen(request: BuildRequest, segment: str) -> HttpResponse:
    """Some pixels of this segment no longer count as having passed a stage."""
    return _do(request, _find(request, segment), ReopenForm(request.POST), _reopen)


def _find(request: BuildRequest, code: str) -> Segment:
    segment = find_segment(request.build, code)
    if segment is None:
        raise Http404(f"The plan has no segment {code}.")
    return segment


def _do(request: BuildRequest, row: Segment, form: SegmentTickForm, act: Act) -> HttpResponse:
    """Act when the form holds, and show the segment as it stands then; what was refused is said beside the form."""
    says = ""
    if form.is_valid():
        try:
            says = act(request, row, form.cleaned_data)
        except Refused as refused:
            show_refusal(form, refused)
    if not says:
        return _show(request, row, form)
    if not request.htmx:
        messages.success(request, says)
        return redirect("segment", request.build.code, row.code)
    response = trigger_client_event(_show(request, _find(request, row.code)), "board-changed")
    return trigger_client_event(response, "notice", {"text": says, "kind": "good"})


def _tick(request: BuildRequest, row: Segment, data: dict[str, Any]) -> str:
    stage = Stage(data["stage"])
    ticks.tick(
        build=request.build, actor=request.person, entry_id=data["id"], segment_code=row.code, stage=stage,
        pixels=data["pixels"], moment=ticks.Moment.now(timezone.now()),
    )  # fmt: skip
    return f"{row.code}: {data['pixels']} pixels {stage.done}."


def _reopen(request: BuildRequest, row: Segment, data: dict[str, Any]) -> str:
    stage = Stage(data["stage"])
    ids = {each: uuid.uuid5(data["id"], each) for each in STAGES}
    ticks.reopen(
        build=request.build, actor=request.person, entry_ids=ids, segment_code=row.code, stage=stage,
        pixels=data["pixels"], moment=ticks.Moment.now(timezone.now()), note=data["note"],
    )  # fmt: skip
    return f"{row.code}: {data['pixels']} pixels no longer count as {stage.done}."


def _show(request: BuildRequest, row: Segment, form: SegmentTickForm | None = None) -> HttpResponse:
    """The segment's page or panel. A form that was refused comes back with what was typed and the reason."""
    detail = detail_of(request.build, row)
    typed = form.data if form else {}
    reopening = typed if isinstance(form, ReopenForm) else {}
    ticking = {} if reopening else typed
    offers = [
        (step, ticking.get("id") or uuid.uuid4(), ticking if ticking.get("stage") == step.stage else None)
        for step in detail.next_steps
    ]
    return show(
        request,
        "segments/_piece.html" if request.htmx else "segments/page.html",
        detail=detail,
        cell=detail.cell,
        offers=offers,
        new_id=uuid.uuid4(),
        reopening=reopening,
        refused=" ".join(str(each) for errors in form.errors.values() for each in errors) if form else "",
        refused_beside=any(kept for _, _, kept in offers),
        history=history_of(row),
        form=form,
        active="sphere",
    )
