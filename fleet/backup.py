"""A copy of the whole database while it is in use: every fleet and every member's sign-in.

For the person who runs the computer. SQLite is copied by ``VACUUM INTO``, which gives one moment
of it; PostgreSQL by its own pg_dump, in the format that pg_restore reads.
"""

import os
import shutil
import sqlite3
import subprocess
import tempfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from django.conf import settings
from django.db import connection
from psycopg.conninfo import make_conninfo

Say = Callable[[str], None]
OPTIONS = ("--format=custom", "--no-owner", "--no-password")


class NotBackedUp(Exception):
    """No copy was made: the words say what to do."""


def write(path: Path, say: Say = lambda step: None) -> int:
    """Write a checked copy, readable by its owner alone, and return its size in bytes.

    The file is there whole or not at all. Raises NotBackedUp, also where it is there already.
    """
    if path.exists():
        raise NotBackedUp(f"{path} is there already: name another file.")
    copy = _sqlite if connection.vendor == "sqlite" else _postgresql
    try:
        with tempfile.TemporaryDirectory(dir=path.parent, prefix=".backup-") as folder:
            draft = Path(folder) / "copy"
            copy(draft)
            say("Copied")
            draft.chmod(0o600)
            os.replace(draft, path)
    except OSError as trouble:
        raise NotBackedUp(f"{path} cannot be written: {trouble.strerror}.") from trouble
    return path.stat().st_size


def daily(name: str, keep: int, say: Say = lambda step: None) -> Path:
    """Write a day's copy into ``var/backups`` unless it is there; keep the newest of them."""
    folder = Path(settings.VAR_DIR) / "backups"
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    suffix = "sqlite3" if connection.vendor == "sqlite" else "dump"
    path = folder / f"stayward-{name}.{suffix}"
    if not path.exists():
        write(path, say)
    for old in sorted(folder.glob(f"stayward-*.{suffix}"))[:-keep]:
        old.unlink()
    return path


def _sqlite(draft: Path) -> None:
    source = Path(connection.settings_dict["NAME"]).resolve()
    try:
        with closing(sqlite3.connect(f"{source.as_uri()}?mode=rw", uri=True, timeout=20)) as live:
            live.execute("VACUUM INTO ?", (str(draft),))
        with closing(sqlite3.connect(draft)) as copied:
            [(sound,)] = copied.execute("PRAGMA integrity_check(1)")
    except sqlite3.Error as trouble:
        raise NotBackedUp(f"SQLite could not copy {source}: {trouble}.") from trouble
    if sound != "ok":
        raise NotBackedUp(f"The copy of {source} is not sound: {sound}.")


def _postgresql(draft: Path) -> None:
    program = shutil.which("pg_dump")
    if program is None:
        raise NotBackedUp(
            "pg_dump is not on this machine. Where it is, with the database's password at hand, "
            f'run: pg_dump --format=custom --no-owner --file=stayward.dump "{_address()}"'
        )
    with tempfile.NamedTemporaryFile("w", dir=draft.parent) as secret:
        secret.write(f"*:*:*:*:{_escaped(connection.settings_dict['PASSWORD'])}\n")
        secret.flush()
        address = _address(passfile=secret.name)
        command = [program, *OPTIONS, f"--file={draft}", f"--dbname={address}"]
        done = subprocess.run(command, check=False, capture_output=True, text=True)
    if done.returncode:
        raise NotBackedUp(f"pg_dump could not copy the database: {done.stderr.strip()}")


def _address(**more: str) -> str:
    """Return the database's address as pg_dump takes it, without the password."""
    known = connection.settings_dict
    facts = {"dbname": "NAME", "host": "HOST", "port": "PORT", "user": "USER"}
    named = {ours: str(known[theirs]) for ours, theirs in facts.items() if known[theirs]}
    options = {key: value for key, value in known["OPTIONS"].items() if isinstance(value, str)}
    return make_conninfo(**options, **named, **more)


def _escaped(password: str) -> str:
    """As a password file wants it (PostgreSQL documentation, "The Password File")."""
    return password.replace("\\", "\\\\").replace(":", "\\:")
