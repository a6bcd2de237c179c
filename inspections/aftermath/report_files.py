"""Reports of others as they came in: PDF only, told by content, under a cap, kept as they are.

They lie under ``var/reports``, a folder a fleet, named by a key that says nothing. They are handed
out as downloads to members of the fleet; nothing here opens or runs what is in them.
"""

import hashlib
from pathlib import Path

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from ..followups import Report

MOST_BYTES = 20 * 1024 * 1024
HEAD, TAIL = b"%PDF-", b"%%EOF"  # ISO 32000-1:2008, 7.5.2 and 7.5.5
NEAR = 1024  # Bytes from the end within which readers look for it; common practice.


def read(file: UploadedFile) -> bytes:
    """Return the bytes of a PDF, read only as far as shows that it is too large.

    Raises ValidationError, in words, for anything else, whatever its name says.
    """
    content = file.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        raise ValidationError(
            f"The file is larger than {MOST_BYTES // 1024**2} MB. Save the report with smaller "
            "pictures and attach that."
        )
    if not content:
        raise ValidationError("The file is empty.")
    if not content.startswith(HEAD) or TAIL not in content[-NEAR:]:
        raise ValidationError(
            "This is not a whole PDF, whatever its name says. Save the report as PDF and attach "
            "that; a photo or text document is not kept here."
        )
    return content


def digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def path_of(report: Report) -> Path:
    """Return where the file of a report lies."""
    return Path(settings.VAR_DIR) / "reports" / str(report.boat.fleet_id) / f"{report.key}.pdf"


def write(report: Report, content: bytes) -> None:
    """Put the file in its place, whole or not at all, readable by its owner alone."""
    path = path_of(report)
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    draft = path.with_suffix(".part")
    draft.write_bytes(content)
    draft.replace(path)
