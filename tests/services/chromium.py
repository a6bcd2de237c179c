"""Debian's Chromium, driven by Playwright: where it is, how it starts, how it gets there."""

import os
import shutil
import subprocess
import sys

GIVEN = "STAYWARD_TEST_CHROMIUM"
NAMES = ("chromium", "chromium-browser", "google-chrome")
# Chromium calls home at every start; on a machine without a way out that is noise in the log.
QUIET = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def find() -> str | None:
    """Return the path of a Chromium, or None."""
    return os.environ.get(GIVEN) or next(filter(None, map(shutil.which, NAMES)), None)


def arguments() -> list[str]:
    return [*QUIET, *(["--no-sandbox"] if os.geteuid() == 0 else [])]


def install() -> None:
    """Install Debian's Chromium if it is missing and this machine lets us; say so on stderr."""
    if find() or os.geteuid() != 0 or shutil.which("apt-get") is None:
        return
    print("stayward: installing Debian's chromium for the page tests", file=sys.stderr, flush=True)
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    apt = ["apt-get", "-qq", "-y", "-o", "Dpkg::Use-Pty=0"]
    for step in (["update"], ["install", "--no-install-recommends", "chromium", "fonts-dejavu"]):
        nothing = subprocess.DEVNULL
        subprocess.run([*apt, *step], check=True, stdin=nothing, stdout=nothing, env=environment)
