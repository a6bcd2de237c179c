"""Papers and photos that show something was done elsewhere: a whole PDF, or a photo drawn anew.

They lie under ``var/evidence``, a folder a fleet, named by a key that says nothing, and are handed
out as downloads to members of the fleet.
"""

import re
import secrets
from pathlib import Path

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from ..aftermath import report_files
from ..photos.redraw import NoPhoto, redraw

KEY = re.compile(r"^[0-9a-f]{32}\.(pdf|jpg)$")


def keep(fleet_id: int, file: UploadedFile) -> tuple[str, str]:
    """Keep a file; return its key and the name to hand it out by. Raises ValidationError."""
    start = file.read(len(report_files.HEAD))
    file.seek(0)
    if start == report_files.HEAD:
        content, kind = report_files.read(file), "pdf"
    else:
        content, kind = _photo(file), "jpg"
    key = f"{secrets.token_hex(16)}.{kind}"
    path = path_of(fleet_id, key)
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    draft = path.with_suffix(".part")
    draft.write_bytes(content)
    draft.replace(path)
    return key, f"{Path(file.name or 'evidence').stem[:100] or 'evidence'}.{kind}"


def _photo(file: UploadedFile) -> bytes:
    try:
        return redraw(file.read(report_files.MOST_BYTES)).jpeg
    except NoPhoto as fault:
        raise ValidationError(f"Neither a whole PDF nor a photo: {fault}") from fault


def path_of(fleet_id: int, key: str) -> Path:
    """Return where a file lies. Raises ValueError for a key that is none of ours."""
    if not KEY.match(key):
        raise ValueError("no such evidence")
    return Path(settings.VAR_DIR) / "evidence" / str(fleet_id) / key
