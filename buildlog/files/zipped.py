"""ZIP archives that somebody hands in, opened only when they cannot unpack to more than they may."""

from __future__ import annotations

import io
import zipfile

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _

MOST_MEMBERS = 200
MOST_RATIO = 100  # tables that people keep pack 10 to 20 times smaller
READ = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)  # others reserve as much memory as the file asks for


def opened(content: bytes, most_bytes: int) -> zipfile.ZipFile:
    """The archive. Raises zipfile.BadZipFile for what is none, Refused for one that unpacks to far too much.

    A member never unpacks to more than it claims (zipfile stops there), so the claims bound what is read.
    """
    archive = zipfile.ZipFile(io.BytesIO(content))
    members = archive.infolist()
    if any(member.compress_type not in READ or member.flag_bits & 1 for member in members):
        raise zipfile.BadZipFile("packed in a way that is not read here")
    unpacked = sum(member.file_size for member in members)
    if len(members) > MOST_MEMBERS or unpacked > most_bytes or unpacked > MOST_RATIO * len(content):
        raise Refused(
            Problem(
                _("The file unpacks to {size:,.0f} MB in {members:,} parts. That is too much for a file of this kind."),
                "file",
                size=unpacked / 1e6,
                members=len(members),
            )
        )
    return archive
