"""A packed build that somebody hands in."""

from __future__ import annotations

from django import forms

from buildlog.core import sizes


class PackForm(forms.Form):
    file = forms.FileField(
        label="Packed build", help_text="The ZIP from Build settings there, or from the pack command."
    )
    code = forms.CharField(
        max_length=16, required=False, label="Under another code",
        help_text="Only for a second copy beside the first. Empty: the code it has.",
    )  # fmt: skip

    def clean_file(self) -> bytes:
        upload = self.cleaned_data["file"]
        if upload.size > sizes.PACK:
            raise forms.ValidationError(
                f"The file has {upload.size / 1e6:.0f} MB, at most 64 MB are taken here: use the unpack command."
            )
        content: bytes = upload.read()
        return content
