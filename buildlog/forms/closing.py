"""The lead's word before the way in is closed, or an override."""

from __future__ import annotations

from django import forms


class WordForm(forms.Form):
    """All three have to hold."""

    nobody_inside = forms.BooleanField(label="Nobody is inside the ball: I have looked and called")
    tools_out = forms.BooleanField(label="All tools and ladders are out")
    power_isolated = forms.BooleanField(label="Power is isolated and locked off")


class OverrideForm(forms.Form):
    """Mounting closing segments although something is missing."""

    reason = forms.CharField(
        max_length=400, widget=forms.Textarea(attrs={"rows": 3}), label="Reason", help_text="It stays on record."
    )
