"""Plant each fault in a copy of the program and see that its test finds it.

    python -m tests.mutations [NAME ...]

Exit code 1 when a test stays green over its fault, or a fault no longer fits the text it is to be
planted in. Without a fault these tests are green: they are part of the suite.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from .planted import FAULTS, Fault

ROOT = Path(__file__).resolve().parents[2]
GREEN, RED = 0, 1  # exit codes of pytest
LEFT_BEHIND = shutil.ignore_patterns(".git", ".venv", "var", "__pycache__")


def main(names: list[str]) -> int:
    unknown = set(names) - {fault.name for fault in FAULTS}
    if unknown:
        print(f"No fault is called {', '.join(sorted(unknown))}. There are:", file=sys.stderr)
        print("\n".join(f"  {fault.name}" for fault in FAULTS), file=sys.stderr)
        return 2
    chosen = [fault for fault in FAULTS if not names or fault.name in names]
    with tempfile.TemporaryDirectory(prefix="stayward-mutations-") as folder:
        copy = Path(folder) / "program"
        shutil.copytree(ROOT, copy, ignore=LEFT_BEHIND)
        results = [found(copy, fault) for fault in chosen]  # every one is said
    return 0 if all(results) else 1


def found(copy: Path, fault: Fault) -> bool:
    """Say what became of one fault; the copy is as before afterwards."""
    path = copy / fault.file
    text = path.read_text()
    if text.count(fault.old) != 1:
        return said(fault, "cannot be planted: its place in the program has changed", good=False)
    path.write_text(text.replace(fault.old, fault.new))
    try:
        code = outcome(copy, fault.test)
    finally:
        path.write_text(text)
    if code == RED:
        return said(fault, "found")
    if code == GREEN:
        return said(fault, "NOT FOUND: the test stays green", good=False)
    return said(fault, f"the test could not be run (pytest ended with {code})", good=False)


def outcome(copy: Path, test: str) -> int:
    command = [sys.executable, "-m", "pytest", "-q", "-x", "--no-header"]
    done = subprocess.run(
        [*command, test],
        cwd=copy,
        env=os.environ | {"PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True,
        check=False,
        text=True,
    )
    if done.returncode not in (GREEN, RED):
        print(done.stdout[-2000:], done.stderr[-2000:])
    return done.returncode


def said(fault: Fault, what: str, *, good: bool = True) -> bool:
    print(f"{fault.name:<50} {what}", flush=True)
    return good


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
