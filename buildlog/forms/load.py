"""A file that somebody hands in."""

from __future__ import annotations

from django import forms

MOST_BYTES = 2 * 1024 * 1024


class FileForm(forms.Form):
    """One table as CSV or XLSX."""

    file = forms.FileField(label="CSV or XLSX file")

    def clean_file(self) -> bytes:
        upload = self.cleaned_data["file"]
        if upload.size > MOST_BYTES:
            raise forms.ValidationError(f"The file has {upload.size / 1e6:.1f} MB; at most 2 MB are read.")
        content: bytes = upload.read()
        return content
