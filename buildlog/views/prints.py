"""Print: what can be put on paper, and the labels of the segments."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from buildlog.access import lead_only
from buildlog.core.errors import Refused
from buildlog.core.work.labels import Label
from buildlog.forms.labels import STRIP, LabelForm
from buildlog.forms.refusals import show_refusal
from buildlog.models import Build
from buildlog.paper.labels import Sheet, sheets, strip
from buildlog.paper.page import SIZES, Size
from buildlog.queries.labels import labels_of, names_in
from buildlog.views.answers import show
from buildlog.views.reach import reachable


@lead_only
@require_safe
def page(request: HttpRequest) -> HttpResponse:
    return show(request, "prints/page.html", active="print", segments=request.build.segments.current().count())


@lead_only
@require_safe
def labels(request: HttpRequest) -> HttpResponse:
    """The form; with its values in the address, the print. Looking changes nothing, so it can be made again."""
    sent = "make" in request.GET
    start = {"base": (reachable(request, "/") or "").rstrip("/"), "segments": request.GET.get("segments", "")}
    form = LabelForm(request.GET) if sent else LabelForm(initial=start)
    if sent and form.is_valid():
        try:
            chosen = labels_of(request.build, names_in(form.cleaned_data["segments"]))
            return _pdf(_printed(request.build, chosen, form), f"labels-{request.build.code}.pdf")
        except Refused as refused:
            show_refusal(form, refused)
    return show(request, "prints/labels.html", active="print", ask=form)


def _printed(build: Build, chosen: tuple[Label, ...], form: LabelForm) -> bytes:
    values, title = form.cleaned_data, f"Labels, {build.name}"
    if values["layout"] == STRIP:
        size = Size("strip", values["strip_width"], values["strip_height"])
        return strip(chosen, values["base"], size, values["dpi"], title)
    return sheets(chosen, values["base"], Sheet(SIZES[values["paper"]], **form.sheet_values()), title)


def _pdf(content: bytes, name: str) -> HttpResponse:
    return HttpResponse(
        content, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"'}
    )
