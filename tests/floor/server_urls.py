"""The real endpoint, alone; and beside it the least a write can be, to compare speed with."""

from django.http import HttpResponse
from django.urls import path
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt

from buildlog.models import Record
from buildlog.views.entries import entries

BUILD = 1  # the only one in a fresh database: not even looked up


@csrf_exempt
def one_insert(request, code):
    Record.objects.create(build_id=BUILD, at=timezone.now(), verb="bare", says="bare")
    return HttpResponse("ok")


def alive(request):
    return HttpResponse("ok")


urlpatterns = [
    path("b/<slug:code>/entries/", entries),
    path("b/<slug:code>/bare/", one_insert),
    path("alive/", alive),
]
