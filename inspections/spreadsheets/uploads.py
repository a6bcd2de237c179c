"""Files handed in on the import page, kept between the check and the writing of them.

Each lies in a folder of its own under ``var/uploads``, named by a random token, and is given back
only to the person who handed it in, for the same fleet. What is a day old is swept.
"""

import json
import re
import secrets
import shutil
import time
from collections.abc import Iterable
from pathlib import Path

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile

from fleet.models import Fleet
from fleet.spreadsheets.files import MOST_BYTES, NamedFile

KEPT_SECONDS = 24 * 3600
TOKEN = re.compile(r"[\w-]{20,64}")
FACTS = "facts.json"


def folder() -> Path:
    return Path(settings.VAR_DIR) / "uploads"


def received(files: Iterable[UploadedFile]) -> list[NamedFile]:
    """Read what was handed in, only as far as shows that it is too large."""
    read, left = [], MOST_BYTES + 1
    for file in files:
        read.append(NamedFile(Path(file.name).name, file.read(left)))
        left -= len(read[-1].content)
    return read


def keep(fleet: Fleet, user, files: Iterable[NamedFile]) -> str:
    """Store the files and return the token they are found by."""
    sweep()
    token = secrets.token_urlsafe(24)
    place = folder() / token
    place.mkdir(parents=True, mode=0o700)
    names = put_in_place(token, files)
    facts = {"fleet": fleet.pk, "user": user.pk, "names": names}
    (place / FACTS).write_text(json.dumps(facts), encoding="utf-8")
    return token


def put_in_place(token: str, files: Iterable[NamedFile]) -> list[str]:
    """Write the files of a token that is new, or that ``kept`` has answered for; their names."""
    names = []
    for number, file in enumerate(files):
        (folder() / token / f"{number}.bin").write_bytes(file.content)
        names.append(file.name)
    return names


def kept(fleet: Fleet, user, token: str) -> list[NamedFile] | None:
    """Return the files of that token; None if there are none, or they are somebody else's."""
    place = folder() / token
    if not TOKEN.fullmatch(token) or not (place / FACTS).is_file():
        return None
    facts = json.loads((place / FACTS).read_text(encoding="utf-8"))
    if (facts["fleet"], facts["user"]) != (fleet.pk, user.pk):
        return None
    return [
        NamedFile(name, (place / f"{number}.bin").read_bytes())
        for number, name in enumerate(facts["names"])
    ]


def discard(token: str) -> None:
    """Delete the files of a token that ``kept`` has answered for."""
    if TOKEN.fullmatch(token):
        shutil.rmtree(folder() / token, ignore_errors=True)


def sweep(now: float | None = None) -> None:
    """Delete what was handed in more than a day ago and never written."""
    before = (time.time() if now is None else now) - KEPT_SECONDS
    for place in folder().glob("*"):
        if place.is_dir() and place.stat().st_mtime < before:
            shutil.rmtree(place, ignore_errors=True)
