"""The page of the dock as a phone keeps it: its files, their fingerprint, its manifest."""

import hashlib
import json
from functools import cache
from pathlib import Path
from typing import Any

from django.contrib.staticfiles import finders
from django.templatetags.static import static
from django.urls import reverse

from fleet.models import Fleet

WORKER = "dock/worker.js"
BESIDE = ("stayward.css", "dock.css", "stayward.svg", "signs.svg", "dock/icon-192.png")
PAPER, INK = "#f9f4e9", "#16243c"  # As in stayward.css.


@cache
def files() -> tuple[str, ...]:
    """Return the names of the static files the page needs: its scripts, style and drawings."""
    folder = _path(WORKER).parent
    scripts = sorted(f"dock/{each.name}" for each in folder.glob("*.js"))
    return (*BESIDE, *(name for name in scripts if name != WORKER))


@cache
def version() -> str:
    """Return a fingerprint of all of them: another one, and a phone fetches all of them anew."""
    digest = hashlib.sha256()
    for name in (*files(), WORKER):
        digest.update(_path(name).read_bytes())
    return digest.hexdigest()[:16]


def _path(name: str) -> Path:
    return Path(finders.find(name))


def worker_script(fleet: Fleet) -> str:
    """Return the service worker of a fleet's dock, with what it keeps written into it."""
    page = reverse("dock", kwargs={"fleet": fleet.slug})
    shell = {"version": version(), "page": page, "files": [static(name) for name in files()]}
    return f"const SHELL = {json.dumps(shell)};\n{_path(WORKER).read_text()}"


def manifest(fleet: Fleet) -> dict[str, Any]:
    """Return the web app manifest (W3C) by which a phone puts the page among its apps."""
    page = reverse("dock", kwargs={"fleet": fleet.slug})
    return {
        "name": f"Stayward dock, {fleet.name}",
        "short_name": "Dock",
        "description": "Inspect standing rigging on the dock, with or without signal.",
        "id": page,
        "start_url": page,
        "scope": page,
        "display": "standalone",
        "background_color": PAPER,
        "theme_color": PAPER,
        "icons": [
            {"src": static("stayward.svg"), "sizes": "any", "type": "image/svg+xml"},
            *(
                {"src": static(f"dock/icon-{size}.png"), "sizes": f"{size}x{size}", "purpose": use,
                 "type": "image/png"}
                for size in (192, 512) for use in ("any", "maskable")
            ),
        ],
    }  # fmt: skip
