"""A PostgreSQL of our own that can be ended in the middle of everything, and started again."""

import os
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from tests.services import postgres, processes


@dataclass
class Restarted:
    """A server on a port that stays the same. ``url`` names a database that exists."""

    url: str
    command: list
    folder: Path
    user: str | None
    process: subprocess.Popen | None = field(default=None)

    def start(self) -> None:
        """Start it and wait until it answers."""
        with (self.folder / "server.log").open("ab") as output:
            self.process = subprocess.Popen(
                self.command, cwd=self.folder, stdin=subprocess.DEVNULL, stdout=output,
                stderr=subprocess.STDOUT,
                preexec_fn=lambda: processes.end_with_parent(signal.SIGINT),
                **processes.as_user(self.user),
            )  # fmt: skip
        until = time.monotonic() + 60
        while not postgres.answers(self.url):
            if self.process.poll() is not None or time.monotonic() > until:
                raise processes.ServerFailed((self.folder / "server.log").read_text()[-2000:])
            time.sleep(0.1)

    def end(self, how: signal.Signals = signal.SIGQUIT) -> None:
        """End it at once, every connection with it; its next start recovers from its log."""
        self.process.send_signal(how)
        self.process.wait(60)


@contextmanager
def running() -> Iterator[Restarted]:
    """Yield a running server with an empty database."""
    user = postgres.unprivileged_user() if os.geteuid() == 0 else None
    with tempfile.TemporaryDirectory(prefix="stayward-postgres-", dir="/tmp") as name:
        command, url = postgres.prepared(Path(name), user)
        server = Restarted(url, command, Path(name), user)
        server.start()
        try:
            with postgres.fresh_database(url) as database:
                server.url = database
                yield server
        finally:
            if server.process.poll() is None:
                server.end(signal.SIGINT)
