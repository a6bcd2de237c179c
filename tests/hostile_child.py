"""Hands hostile files to a fleet in a process of its own, and says what became of each, as JSON.

``python -m tests.hostile_child FOLDER``, with STAYWARD_VAR set to an empty folder. A process of its
own, because the most memory that a process ever took is only known of the whole process.
"""

import io
import json
import os
import re
import resource
import sys
import tempfile
import time
from contextlib import ExitStack, redirect_stderr
from pathlib import Path

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fleet.project.settings")
django.setup()

from django.apps import apps  # noqa: E402
from django.conf import settings  # noqa: E402
from django.core.management import CommandError, call_command  # noqa: E402
from django.test import Client  # noqa: E402
from django.test.utils import setup_test_environment  # noqa: E402

from tests import builders  # noqa: E402
from tests.hostile_files import LARGE  # noqa: E402

OURS = ("fleet", "inspections", "forecasting")


def main(folder: Path) -> None:
    setup_test_environment()
    settings.STATIC_ROOT.mkdir()
    call_command("migrate", verbosity=0)
    fleet = builders.empty_fleet("harbour")
    builders.wire(builders.boat(fleet))
    client = Client()
    client.force_login(builders.person("mara", fleet), "django.contrib.auth.backends.ModelBackend")
    told = {"": {"memory": memory()}}
    for path in sorted(folder.iterdir()):
        told[path.stem] = {"command": by_command(path)}
        if path.stem not in LARGE:
            told[path.stem]["page"] = by_page(client, path)
    print(json.dumps(told))


def by_command(path: Path) -> dict:
    said = io.StringIO()

    def run() -> None:
        try:
            with redirect_stderr(said):
                call_command("import_fleet", "harbour", str(path), "--write", stdout=said)
        except CommandError as trouble:
            said.write(str(trouble))
        except SystemExit as ended:
            said.write(f"exit code {ended.code}")

    return watched(run) | {"said": said.getvalue()}


def by_page(client: Client, path: Path) -> dict:
    said: list[str] = []

    def run() -> None:
        with ExitStack() as open_files:
            paths = sorted(path.iterdir()) if path.is_dir() else [path]
            files = [open_files.enter_context(each.open("rb")) for each in paths]
            page = client.post("/harbour/import/", {"files": files}, follow=True)
        said.extend(str(fault) for fault in page.context["faults"])
        said.append(f"status {page.status_code}")

    return watched(run) | {"said": "\n".join(said)}


def watched(run) -> dict:
    """Run something; return seconds, memory, and whether it left rows or files."""
    before, start = rows(), time.monotonic()
    run()
    return {
        "seconds": round(time.monotonic() - start, 1),
        "memory": memory(),
        "wrote": rows() != before,
        "left": files_left(),
    }


def memory() -> int:
    """The most this process ever took, in MB.

    Not ru_maxrss where Linux tells it better: that one begins with the size of whoever started us.
    """
    status = Path("/proc/self/status")
    if status.exists():
        return int(re.search(r"VmHWM:\s+(\d+) kB", status.read_text()).group(1)) // 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def rows() -> dict[str, list]:
    models = [model for label in OURS for model in apps.get_app_config(label).get_models()]
    return {m._meta.label: list(m._default_manager.order_by("pk").values_list()) for m in models}


def files_left() -> list[str]:
    uploads = Path(os.environ["STAYWARD_VAR"]) / "uploads"
    kept = [str(path.relative_to(uploads)) for path in uploads.rglob("*") if path.is_file()]
    return kept + [path.name for path in Path(tempfile.gettempdir()).glob("*.upload*")]


if __name__ == "__main__":
    main(Path(sys.argv[1]))
