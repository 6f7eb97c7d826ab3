"""What a field offers to choose from, when that is known only as the form is made."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms


def offer(form: forms.BaseForm, name: str, choices: Iterable[Any]) -> None:
    """Set the choices of a field. Raises TypeError for a field that takes anything."""
    field = form.fields[name]
    if not isinstance(field, forms.ChoiceField):
        raise TypeError(f"{name} takes anything: it offers no choices.")
    field.choices = list(choices)
