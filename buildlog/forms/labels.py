"""What to print labels of, and on what."""

from __future__ import annotations

from typing import Any

from django import forms

SHEET, STRIP = "sheet", "strip"


def _millimetres(label: str, initial: float, **more: Any) -> forms.FloatField:
    attrs = {"inputmode": "decimal", "step": "0.1"}
    return forms.FloatField(
        label=label, initial=initial, min_value=0, max_value=400, widget=forms.NumberInput(attrs), **more
    )


class LabelForm(forms.Form):
    """Everything has a value to begin with, so that only what differs has to be typed."""

    segments = forms.CharField(
        label="Segments",
        required=False,
        max_length=20_000,
        help_text="Such as R12-3, a ring R12, a range R12 to R20. Leave it empty for all.",
        widget=forms.Textarea({"rows": 2, "spellcheck": "false"}),
    )
    base = forms.CharField(
        label="Address of this site",
        max_length=80,
        help_text="As the phones see it. It is printed into the codes, so the laptop has to keep it.",
    )
    layout = forms.ChoiceField(
        label="Printed on",
        choices=[(SHEET, "Sheets of labels"), (STRIP, "A strip, one label a page")],
        initial=SHEET,
        widget=forms.RadioSelect,
    )
    dpi = forms.TypedChoiceField(
        label="Dots per inch of the printer",
        coerce=int,
        choices=[(203, "203 (label printers)"), (300, "300"), (600, "600")],
        initial=203,
    )
    ruler = forms.BooleanField(label="A line of 50 mm, to check that nothing was scaled", required=False, initial=True)
    paper = forms.ChoiceField(label="Paper", choices=[("A4", "A4"), ("Letter", "US Letter")], initial="A4")
    rows = forms.IntegerField(label="Rows", initial=8, min_value=1, max_value=40)
    columns = forms.IntegerField(label="Columns", initial=3, min_value=1, max_value=12)
    start = forms.IntegerField(
        label="First free label", initial=1, min_value=1, max_value=480, help_text="On a sheet that is partly used."
    )
    top = _millimetres("Margin above", 8.5)
    bottom = _millimetres("Margin below", 8.5)
    left = _millimetres("Margin left", 7)
    right = _millimetres("Margin right", 7)
    gap_x = _millimetres("Gap between columns", 2)
    gap_y = _millimetres("Gap between rows", 0)
    frames = forms.BooleanField(label="A line around each, to cut along", required=False)
    strip_width = _millimetres("Label width", 62)
    strip_height = _millimetres("Label height", 29)

    LENGTHS = ("top", "bottom", "left", "right", "gap_x", "gap_y", "strip_width", "strip_height")
    SHEET_FIELDS = ("paper", "rows", "columns", "start", "top", "bottom", "left", "right", "gap_x", "gap_y", "frames")
    STRIP_FIELDS = ("strip_width", "strip_height")
    LAYOUT = ("layout", "dpi", "ruler", *SHEET_FIELDS, *STRIP_FIELDS)  # what a build keeps for the next time

    def sheet_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in self.SHEET_FIELDS]

    def strip_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in self.STRIP_FIELDS]

    def sheet_values(self) -> dict[str, Any]:
        values = {name: self.cleaned_data[name] for name in self.SHEET_FIELDS if name != "paper"}
        return values | {name: self.cleaned_data[name] for name in ("dpi", "ruler")}

    @property
    def layout_chosen(self) -> dict[str, Any]:
        """What a valid form says about paper and printer, by name."""
        return {name: self.cleaned_data[name] for name in self.LAYOUT}
