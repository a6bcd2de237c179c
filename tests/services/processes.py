"""Start a server for the tests so that it ends with them, whatever ends them."""

import ctypes
import os
import pwd
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

PR_SET_PDEATHSIG = 1


class ServerFailed(Exception):
    """A server did not start; the message ends with its own last words."""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@contextmanager
def running(
    command: Sequence[str],
    folder: Path,
    answers: Callable[[], bool],
    *,
    user: str | None = None,
    env: Mapping[str, str] | None = None,
    stop: signal.Signals = signal.SIGTERM,
    seconds: float = 30,
) -> Iterator[subprocess.Popen]:
    """Run a server in `folder` until the block ends; enter the block once it answers."""
    log = folder / "server.log"
    with log.open("wb") as output:
        server = subprocess.Popen(
            command,
            cwd=folder,
            env=env,
            stdin=subprocess.DEVNULL,
            stdout=output,
            stderr=subprocess.STDOUT,
            preexec_fn=lambda: end_with_parent(stop),
            **as_user(user),
        )
    try:
        _wait(server, answers, log, seconds)
        yield server
    finally:
        _end(server, stop)


def as_user(name: str | None) -> dict:
    """Arguments for subprocess that run the child as somebody else."""
    return {"user": name, "group": pwd.getpwnam(name).pw_gid, "extra_groups": []} if name else {}


def end_with_parent(stop: signal.Signals) -> None:
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, int(stop), 0, 0, 0)


def _wait(server: subprocess.Popen, answers: Callable, log: Path, seconds: float) -> None:
    until = time.monotonic() + seconds
    while not answers():
        if server.poll() is not None or time.monotonic() > until:
            last_words = log.read_text(errors="replace")[-2000:]
            raise ServerFailed(f"{os.fspath(server.args[0])} did not start:\n{last_words}")
        time.sleep(0.05)


def _end(server: subprocess.Popen, stop: signal.Signals) -> None:
    server.send_signal(stop)
    try:
        server.wait(20)
    except subprocess.TimeoutExpired:
        server.kill()
        server.wait()
