"""What an act refused, shown next to the field that it concerns."""

from __future__ import annotations

from django.forms import BaseForm

from buildlog.core.errors import Refused
from buildlog.words import say


def show_refusal(form: BaseForm, refused: Refused) -> None:
    """Add each problem to its field, or to the form as a whole when it has no such field."""
    for problem in refused.problems:
        form.add_error(problem.field if problem.field in form.fields else None, say(problem.sentence))
