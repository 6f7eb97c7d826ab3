"""`crew leave NAME --build CODE` and `crew return NAME --build CODE`."""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from buildlog.actions import crew
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.management.asking import Asking, build_called
from buildlog.management.options import OptionParser
from buildlog.models import Build, Person

ACTS = {"leave": crew.leave, "return": crew.come_back}


class Command(Asking):
    help = "Remove a person from the crew of a build, or restore one who left. A person who returns needs a new PIN."

    def add_options(self, parser: OptionParser) -> None:
        parser.add_argument("act", choices=sorted(ACTS), help="leave or return")
        parser.add_argument("name", metavar="NAME", help="the person's name, as on the Crew screen")
        parser.add_argument("--build", required=True, metavar="CODE", help="the build's code")

    def answer(self, *, act: str, name: str, build: str, **rest: Any) -> None:
        person = ACTS[act](person=_person_called(name, build_called(build)), by=None, now=timezone.now())
        self.stdout.write(f"{person} {'has left' if person.left_at else 'is in'} the crew of {person.build}.")


def _person_called(name: str, build: Build) -> Person:
    person = build.people.filter(name__iexact=name.strip()).first()
    if person is None:
        names = ", ".join(build.people.values_list("name", flat=True)) or "no one yet"
        raise Refused(Problem(_("There is no person {name!r}; there are: {names}."), "NAME", name=name, names=names))
    return person
