"""What is said when something is refused, in the language of whoever asks; fields refuse in this app's own words.

Django looks these sentences up on its classes; a field with a better one of its own keeps it.
"""

from __future__ import annotations

from django import forms
from django.core import validators
from django.utils.translation import gettext, ngettext

from buildlog.core.errors import Problem, Refused
from buildlog.core.forecast.result.document.coding import Fact
from buildlog.core.forecast.result.sentences import sentence
from buildlog.core.wording import Sentence

FIELDS: dict[type[forms.Field], dict[str, str]] = {
    forms.Field: {"required": "This is empty: fill it in."},
    forms.ChoiceField: {
        "required": "Nothing is chosen: choose one.",
        "invalid_choice": "“%(value)s” cannot be chosen here: choose one of the list.",
    },
    forms.MultipleChoiceField: {"invalid_choice": "“%(value)s” cannot be chosen here: choose from the list."},
    forms.ModelChoiceField: {"invalid_choice": "This cannot be chosen any more: choose one of the list."},
    forms.IntegerField: {"invalid": "This is not a whole number: give one, as 12."},
    forms.FloatField: {"invalid": "This is not a number: give one, as 2.5."},
    forms.DecimalField: {"invalid": "This is not a number: give one, as 2.5."},
    forms.DateField: {"invalid": "This is not a date: give one, as 2026-05-31."},
    forms.TimeField: {"invalid": "This is not a time: give one, as 14:30."},
    forms.FileField: {"required": "No file is chosen: choose one.", "empty": "The file is empty: choose another."},
}

VALIDATORS: dict[type[validators.BaseValidator], str] = {
    validators.MinValueValidator: "%(show_value)s is too little: %(limit_value)s is the least.",
    validators.MaxValueValidator: "%(show_value)s is too much: %(limit_value)s is the most.",
    validators.MinLengthValidator: "%(show_value)d characters are too few: give at least %(limit_value)d.",
    validators.MaxLengthValidator: "%(show_value)d characters are too many: %(limit_value)d are the most.",
}


def say(what: Sentence | Problem | Refused) -> str:
    """A refusal in the language of whoever is asking; problems with their row and field before them."""
    if isinstance(what, Refused):
        return "; ".join(say(problem) for problem in what.problems)
    if isinstance(what, Problem):
        return f"{what.where}: {say(what.sentence)}" if what.where else say(what.sentence)
    return what.said(gettext, ngettext)


def in_words(fact: Fact) -> str:
    """A fact of a forecast in the language of whoever is asking."""
    return say(sentence(fact))


def speak() -> None:
    """Put the words in place: before any form is defined, and for what is checked without a form."""
    for field, messages in FIELDS.items():
        field.default_error_messages = {**field.__dict__.get("default_error_messages", {}), **messages}
    for validator, message in VALIDATORS.items():
        validator.message = message
