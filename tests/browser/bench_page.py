"""A bare page with the forms that the outbox takes over, and the addresses with it: what tests of the outbox drive."""

from __future__ import annotations

from django.http import HttpResponse
from django.template import engines
from django.urls import include, path

from buildlog import access
from buildlog.urls import urlpatterns as own
from buildlog.views.outbox import outbox_of

PAGE = """{% extends "base.html" %}{% block content %}
<form method="post" action="plain/" data-entry="tick">{% csrf_token %}
  <input type="hidden" name="segment" value="R1-1"><input type="hidden" name="stage" value="populate">
  <input name="pixels" value="3"><button>Own number</button><button name="pixels" value="1">+1</button>
  <button name="pixels" value="999">Far too many</button>
</form>
<form method="post" action="plain/" data-entry="stint-start"><input type="hidden" name="stage" value="populate">
  <button>Start</button></form>
<form method="post" action="plain/" data-entry="note"><input type="hidden" name="segment" value="R1-1">
  <input name="says" value="Two holes torn"><button>Leave note</button></form>
{% endblock %}"""


@access.crew_only
def bench(request):
    context = {"build": request.build, "person": request.person, "outbox": outbox_of(request)}
    return HttpResponse(engines["django"].from_string(PAGE).render(context, request))


def alive(request):
    return HttpResponse("ok")


urlpatterns = [path("b/<slug:code>/bench/", bench), path("alive/", alive), path("", include(own))]
