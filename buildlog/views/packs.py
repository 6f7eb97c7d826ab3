"""A whole build in one file: given out, and taken in again here or elsewhere."""

from __future__ import annotations

from uuid import uuid4

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_safe

from buildlog.access import BuildRequest, account_of, builder_only, lead_only
from buildlog.actions.unpack import unpack
from buildlog.core.errors import Refused
from buildlog.files.pack import BY_BROWSER, from_zip, to_zip
from buildlog.forms.packs import PackForm
from buildlog.forms.refusals import show_refusal
from buildlog.imports import Import, alone
from buildlog.queries.pack import packed
from buildlog.views.answers import show


@lead_only
@require_safe
def pack(request: BuildRequest) -> HttpResponse:
    response = HttpResponse(to_zip(packed(request.build)), content_type="application/zip")
    response["Content-Disposition"] = f'attachment; filename="{request.build.code}.zip"'
    return response


@builder_only
def take_in(request: BuildRequest) -> HttpResponse:
    """A packed build; the one who takes it in leads it and lands on its map."""
    form = PackForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        try:
            with alone(Import(uuid4())):
                pack = from_zip(form.cleaned_data["file"], BY_BROWSER)
                build, remarks = unpack(pack=pack, code=form.cleaned_data["code"], lead=account_of(request))
        except Refused as refused:
            show_refusal(form, refused)
        else:
            messages.success(request, f"{build.name} is here, with all that was ticked.")
            for remark in remarks:
                messages.info(request, remark)
            return redirect("sphere", build.code)
    return show(request, "builds/unpack.html", form=form)
