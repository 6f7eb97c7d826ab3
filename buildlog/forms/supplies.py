"""The store, counted by hand."""

from __future__ import annotations

from typing import Any

from django import forms

from buildlog.core.errors import Refused
from buildlog.core.plan.materials.stock import StockItem, Store
from buildlog.core.plan.materials.supplies import Item
from buildlog.core.units import length, write_length
from buildlog.words import say


class LengthField(forms.CharField):
    """A length in any unit, in metres."""

    def clean(self, value: Any) -> float | None:
        text = super().clean(value)
        try:
            return length(text, least=0.0) if text else None
        except Refused as refused:
            raise forms.ValidationError(say(refused.problems[0].sentence)) from refused


class CountForm(forms.Form):
    """One number an item: how much there is, all ever got, used or not.

    What was counted with its length (rolls of 5 m, rolls of 10 m) comes from a table and has no field here.
    """

    def __init__(self, store: Store, units: str, data: Any = None) -> None:
        super().__init__(data)
        counted = {item.item: item.quantity for item in store.holdings if not item.length_mm}
        by_length = {item.item for item in store.lengths}
        for item in store.items:
            if item.key not in by_length:
                self.fields[item.key] = _field(item, counted.get(item.key), units)

    @property
    def counted(self) -> list[StockItem]:
        """What a valid form says; a field left empty says nothing."""
        return [StockItem(name, number) for name, number in self.cleaned_data.items() if number is not None]


def _field(item: Item, number: float | None, units: str) -> forms.Field:
    label = f"{item.what[0].upper()}{item.what[1:]}, got so far"
    if item.unit == "m":
        initial = "" if number is None else write_length(number, units)
        return LengthField(max_length=40, required=False, label=label, initial=initial)
    widget = forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"})
    initial = "" if number is None else f"{number:.12g}"
    return forms.FloatField(min_value=0, max_value=1e9, required=False, label=label, initial=initial, widget=widget)
