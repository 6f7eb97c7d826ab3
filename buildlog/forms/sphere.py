"""What a lead asks of the map, and says to segments on it."""

from __future__ import annotations

import re
from typing import Any

from django import forms

from buildlog.core.work.board import Filter
from buildlog.core.work.stages import CHOICES, Stage
from buildlog.forms.offers import offer
from buildlog.models import Build, Person

RINGS = re.compile(r"\s*(\d{1,5})(?:\s*(?:-|–|…|\.\.\.?|to)\s*(\d{1,5}))?\s*")
NOBODY = "0"
STAGES = [(stage.value, f"ready to {stage.value}") for stage in Stage]


class MapFilterForm(forms.Form):
    """Which segments stay bright on the map. Nothing chosen: all of them."""

    stage = forms.ChoiceField(label="Ready for", required=False)
    helper = forms.TypedChoiceField(label="Assigned to", required=False, coerce=int, empty_value=None)
    channel = forms.IntegerField(label="Channel", required=False, min_value=1, max_value=99_999)
    rings = forms.CharField(label="Rings", required=False, max_length=20, help_text="One, or a range like 12 to 20.")

    def __init__(self, *args: Any, build: Build, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        people = [(person.pk, person.name) for person in build.people.working()]
        offer(self, "stage", [("", "anything"), *STAGES])
        offer(self, "helper", [("", "anybody"), (0, "nobody"), *people])

    def clean_rings(self) -> tuple[int, int] | None:
        text = self.cleaned_data["rings"]
        if not text:
            return None
        match = RINGS.fullmatch(text)
        if match is None:
            raise forms.ValidationError(f"Found “{text}”. Give a ring or a range, like 12 or 12 to 20.")
        first = int(match[1])
        last = int(match[2] or first)
        return min(first, last), max(first, last)

    def wanted(self) -> Filter:
        """The filter; what could not be read leaves its question open."""
        self.is_valid()
        data = self.cleaned_data
        stage, rings = data.get("stage"), data.get("rings") or (None, None)
        return Filter(Stage(stage) if stage else None, data.get("helper"), data.get("channel"), *rings)


class AssignForm(forms.Form):
    """Give segments to one of the crew, or to nobody."""

    segments = forms.CharField(
        label="Segments",
        max_length=20_000,
        help_text="Tap them on the map, or the name of a ring. Or write R12-3, a ring R12, a range R12 to R20.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    to = forms.ChoiceField(label="Assign to")

    def __init__(self, *args: Any, build: Build, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.people = {str(person.pk): person for person in build.people.working()}
        names = [(key, person.name) for key, person in self.people.items()]
        offer(self, "to", [("", "choose a person"), *names, (NOBODY, "nobody: free again")])

    def clean_to(self) -> Person | None:
        return self.people.get(self.cleaned_data["to"])


class SegmentTickForm(forms.Form):
    """Pixels of one segment that have passed a stage. The id makes a second press harmless."""

    id = forms.UUIDField(widget=forms.HiddenInput)
    stage = forms.ChoiceField(choices=CHOICES)
    pixels = forms.IntegerField(min_value=1, max_value=1_000_000)


class ReopenForm(SegmentTickForm):
    """Pixels that no longer count as passed, and why."""

    note = forms.CharField(label="Why", max_length=200)
