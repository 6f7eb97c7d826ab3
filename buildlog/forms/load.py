"""A file that somebody hands in."""

from __future__ import annotations

from django import forms

from buildlog.core import sizes


class FileForm(forms.Form):
    """One table as CSV or XLSX."""

    file = forms.FileField(label="CSV or XLSX file")
    id = forms.UUIDField(required=False, widget=forms.HiddenInput)  # by which its progress is asked for

    def clean_file(self) -> bytes:
        upload = self.cleaned_data["file"]
        if upload.size > sizes.TABLE:
            raise forms.ValidationError(
                f"The file has {upload.size / 1e6:.1f} MB; at most {sizes.TABLE // 1_000_000} MB are read."
            )
        content: bytes = upload.read()
        return content
