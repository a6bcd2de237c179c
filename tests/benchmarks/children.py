"""Commands run as children, with what they took."""

import os
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
MANAGE = (
    "import sys; from django.core.management import execute_from_command_line as run; run(sys.argv)"
)


@dataclass(frozen=True)
class Taken:
    """What a child took: seconds by the clock and of the processor, and MB at its most."""

    seconds: float
    busy: float
    memory: int
    said: str


def run(var: Path, code: str, *arguments: str) -> Taken:
    """Run Python code as a child that works in ``var``; raise CalledProcessError if it fails."""
    apart = {"STAYWARD_VAR": str(var), "STAYWARD_DATABASE": "", "STAYWARD_NO_VENV": "1"}
    settings = {"DJANGO_SETTINGS_MODULE": "fleet.project.settings"}
    start = time.monotonic()
    with subprocess.Popen(
        [sys.executable, "-c", code, *arguments],
        cwd=ROOT,
        env=os.environ | apart | settings,
        stdout=subprocess.PIPE,
        text=True,
    ) as child:
        said = child.stdout.read()
        _, status, usage = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise subprocess.CalledProcessError(child.returncode, child.args, said)
    return Taken(
        time.monotonic() - start,
        usage.ru_utime + usage.ru_stime,
        usage.ru_maxrss // 1024,
        said,
    )


def manage(var: Path, *arguments: str) -> Taken:
    """Run one of the program's own commands as a child."""
    return run(var, MANAGE, *arguments)


def table(title: str, rows: list[tuple[str, Taken, str]]) -> None:
    """Print what each step took: seconds, seconds of the processor, memory, and a remark."""
    print(f"\n{title}")
    print(f"{'':<52} {'clock s':>8} {'cpu s':>7} {'MB':>6}")
    for what, taken, remark in rows:
        print(f"{what:<52} {taken.seconds:>8.1f} {taken.busy:>7.1f} {taken.memory:>6}  {remark}")
