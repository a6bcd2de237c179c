"""Debian's Chromium, driven by Playwright: where it is, how it starts, how it gets there."""

import os
import shutil
import subprocess
import sys
from ctypes.util import find_library

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


def missing_packages() -> list[str]:
    """Return the Debian packages to install before pages can be driven."""
    browser = [] if find() else ["chromium", "fonts-dejavu"]
    driver = [] if find_library("atomic") else ["libatomic1"]  # Playwright's node loads it
    return browser + driver


def install() -> None:
    """Install what is missing if this machine lets us; say so on stderr."""
    packages = missing_packages()
    if not packages or os.geteuid() != 0 or shutil.which("apt-get") is None:
        return
    print(f"stayward: installing Debian's {' '.join(packages)}", file=sys.stderr, flush=True)
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    apt = ["apt-get", "-qq", "-y", "-o", "Dpkg::Use-Pty=0"]
    nothing = subprocess.DEVNULL
    for step in (["update"], ["install", "--no-install-recommends", *packages]):
        subprocess.run([*apt, *step], check=True, stdin=nothing, stdout=nothing, env=environment)
