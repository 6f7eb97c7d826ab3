"""A file that somebody hands in."""

from __future__ import annotations

from django import forms

from buildlog.core.work.rows import MOST_BYTES


class FileForm(forms.Form):
    """One table as CSV or XLSX."""

    file = forms.FileField(label="CSV or XLSX file")

    def clean_file(self) -> bytes:
        upload = self.cleaned_data["file"]
        if upload.size > MOST_BYTES:
            raise forms.ValidationError(
                f"The file has {upload.size / 1e6:.1f} MB; at most {MOST_BYTES // 1_000_000} MB are read."
            )
        content: bytes = upload.read()
        return content
