"""Print: what can be put on paper, and the labels of the segments."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST, require_safe

from buildlog.access import BuildRequest, lead_only
from buildlog.actions import builds
from buildlog.core.errors import Refused
from buildlog.core.work.labels import SegmentLabel
from buildlog.forms.labels import STRIP, LabelForm
from buildlog.forms.refusals import show_refusal
from buildlog.models import Build
from buildlog.paper.labels import LabelSheet, check_number, sheets, strip
from buildlog.paper.page import SIZES, Size
from buildlog.queries.labels import labels_of
from buildlog.views.answers import show
from buildlog.views.reach import reachable

SAMPLE = (SegmentLabel("R1-1", "22222", 1),)  # stands for labels that could not be chosen, when the paper is looked at


@lead_only
@require_safe
def page(request: BuildRequest) -> HttpResponse:
    return show(request, "prints/page.html", active="print", segments=request.build.segments.current().count())


@lead_only
def labels(request: BuildRequest) -> HttpResponse:
    """The form as it was filled last. Sent, it is kept and leads to the print: an address that shows it again."""
    if not request.build.segments.current().exists():
        return redirect("print", request.build.code)
    sent = request.method == "POST"
    if not sent and "make" not in request.GET:
        return show(request, "prints/labels.html", active="print", form=_form_to_fill(request))
    form = LabelForm(request.POST if sent else request.GET)
    if (chosen := _chosen(request.build, form)) is None:
        return show(request, "prints/labels.html", active="print", form=form)
    if sent:
        builds.keep_label_layout(build=request.build, layout=form.layout_chosen)
        return redirect(f"{request.path}?{_as_address(form)}")
    return _pdf(_printed(request.build, chosen, form), f"labels-{request.build.code}.pdf")


@lead_only
@require_POST
def labels_chosen(request: BuildRequest) -> HttpResponse:
    """From the map: the form for what is chosen there."""
    address = reverse("print_labels", args=[request.build.code])
    return redirect(f"{address}?{urlencode({'segments': request.POST.get('segments', '')})}")


def _form_to_fill(request: BuildRequest) -> LabelForm:
    base = (reachable(request, "/") or "").rstrip("/")
    start = {"base": base, "segments": request.GET.get("segments", "")}
    return LabelForm(initial=request.build.label_layout | start)


def _as_address(form: LabelForm) -> str:
    chosen = [(name, form.data[name]) for name in form.fields if form.data.get(name)]
    return urlencode([*chosen, ("make", "1")])


def _chosen(build: Build, form: LabelForm) -> tuple[SegmentLabel, ...] | None:
    """What is to be printed; None when something is wrong with it or with the paper: all of that is said at once."""
    form.is_valid()
    chosen: tuple[SegmentLabel, ...] = ()
    sample: tuple[SegmentLabel, ...] = SAMPLE
    try:
        chosen = labels_of(build, form.cleaned_data.get("segments", ""))
        check_number(chosen)
        sample = chosen[:1]
    except Refused as refused:
        show_refusal(form, refused)
    if set(form.errors) <= {"segments"}:
        try:
            _printed(build, sample, form)
        except Refused as refused:
            show_refusal(form, refused)
    return chosen if form.is_valid() else None


def _printed(build: Build, chosen: tuple[SegmentLabel, ...], form: LabelForm) -> bytes:
    values, title = form.cleaned_data, f"Labels, {build.name}"
    if values["layout"] == STRIP:
        size = Size("strip", values["strip_width"], values["strip_height"])
        return strip(chosen, values["base"], size, values["dpi"], title, values["ruler"])
    return sheets(chosen, values["base"], LabelSheet(SIZES[values["paper"]], **form.sheet_values()), title)


def _pdf(content: bytes, name: str) -> HttpResponse:
    return HttpResponse(
        content, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"'}
    )
