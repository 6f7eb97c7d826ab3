"""The forms of Today, one for each kind of entry. Each carries an id made with the page, so that a second press of
the same button is the same entry."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import QueryDict

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.core.work import deeds
from buildlog.core.work.deeds import DeviceEntry, DeviceEntryKind
from buildlog.core.work.stages import CHOICES, Stage


class EntryForm(forms.Form):
    id = forms.UUIDField(widget=forms.HiddenInput)

    def deed(self) -> DeviceEntry:
        """What was said. Raises Refused when it makes no sense as a whole."""
        raise NotImplementedError


class TickForm(EntryForm):
    segment = forms.CharField(max_length=deeds.LONGEST_CODE)
    stage = forms.ChoiceField(choices=CHOICES)
    pixels = forms.IntegerField(
        min_value=1,
        max_value=deeds.MOST_PIXELS,
        error_messages={
            "required": "Say how many pixels.",
            "invalid": "A whole number of pixels is needed, like 12.",
            "min_value": "At least 1 pixel is needed. To take pixels back use Undo.",
        },
    )
    stint = forms.UUIDField(required=False)

    def deed(self) -> DeviceEntry:
        data = self.cleaned_data
        return deeds.TickEntry(data["segment"], Stage(data["stage"]), data["pixels"], data["stint"])


class UndoForm(EntryForm):
    undoes = forms.UUIDField()

    def deed(self) -> DeviceEntry:
        return deeds.Undo(self.cleaned_data["undoes"])


class StartForm(EntryForm):
    """A stint begins, on a stage or a job; the helpers who work along are in the field ``with``."""

    stint = forms.UUIDField()
    stage = forms.ChoiceField(choices=CHOICES, required=False)
    job = forms.CharField(max_length=deeds.LONGEST_JOB, required=False)
    segment = forms.CharField(max_length=deeds.LONGEST_CODE, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        several = self.data.getlist("with") if isinstance(self.data, QueryDict) else []
        numbers = [(number, number) for number in several if number.isdecimal()]
        self.fields["with"] = forms.TypedMultipleChoiceField(coerce=int, choices=numbers, required=False)

    def deed(self) -> DeviceEntry:
        data = self.cleaned_data
        if bool(data["stage"]) == bool(data["job"]):
            raise Refused(Problem(_("A stint is on one stage or on one job: choose one of the two.")))
        stage = Stage(data["stage"]) if data["stage"] else None
        return deeds.StintStart(data["stint"], stage, data["job"] or None, data["segment"] or None, tuple(data["with"]))


class MarkForm(EntryForm):
    """A pause, the end of one, a stop."""

    stint = forms.UUIDField()

    def deed(self) -> DeviceEntry:
        return deeds.StintMark(self.cleaned_data["stint"])


class NoteForm(EntryForm):
    segment = forms.CharField(max_length=deeds.LONGEST_CODE)
    says = forms.CharField(
        max_length=deeds.LONGEST_NOTE, error_messages={"required": "Say in a few words what is wrong."}
    )

    def deed(self) -> DeviceEntry:
        return deeds.NoteLeft(self.cleaned_data["segment"], self.cleaned_data["says"])


ENTRY_FORMS: dict[str, type[EntryForm]] = {
    DeviceEntryKind.TICK: TickForm,
    DeviceEntryKind.UNDO: UndoForm,
    DeviceEntryKind.STINT_START: StartForm,
    DeviceEntryKind.STINT_PAUSE: MarkForm,
    DeviceEntryKind.STINT_RESUME: MarkForm,
    DeviceEntryKind.STINT_STOP: MarkForm,
    DeviceEntryKind.NOTE: NoteForm,
}
