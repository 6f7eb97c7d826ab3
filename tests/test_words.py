"""What fields say when they refuse: no sentence of the framework is left where ours stands."""

import pytest
from django import forms

from buildlog.models import Person


class Any(forms.Form):
    name = forms.CharField(max_length=3)
    count = forms.IntegerField(min_value=1, max_value=9)
    share = forms.FloatField()
    day = forms.DateField()
    hour = forms.TimeField()
    stage = forms.ChoiceField(choices=[("wire", "Wire")])


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("name", "", "This is empty: fill it in."),
        ("name", "Marek", "5 characters are too many: 3 are the most."),
        ("count", "0", "0 is too little: 1 is the least."),
        ("count", "12", "12 is too much: 9 is the most."),
        ("count", "some", "This is not a whole number: give one, as 12."),
        ("share", "half", "This is not a number: give one, as 2.5."),
        ("day", "soon", "This is not a date: give one, as 2026-05-31."),
        ("hour", "late", "This is not a time: give one, as 14:30."),
        ("stage", "", "Nothing is chosen: choose one."),
        ("stage", "glue", "“glue” cannot be chosen here: choose one of the list."),
    ],
)
def test_a_field_says_what_was_found_and_what_is_allowed(field, typed, says):
    assert Any({field: typed}).errors[field] == [says]


def test_so_does_what_is_checked_without_a_form():
    with pytest.raises(Exception, match="81 characters are too many: 80 are the most"):
        Person._meta.get_field("name").run_validators("x" * 81)
