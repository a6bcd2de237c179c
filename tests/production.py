"""Production as the README sets it up: gunicorn, workers, beats, PostgreSQL, Redis, mail."""

import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, ExitStack, contextmanager
from dataclasses import dataclass, field
from http.cookiejar import CookieJar
from pathlib import Path
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, OpenerDirector, Request, build_opener, urlopen

import psycopg
import pytest
import redis
from celery import Celery

from tests.demonstration import ROOT
from tests.services import postgres, processes, smtp

REDIS_DATABASE = 15  # The workers of the suite use the first ones.
CELERY = (sys.executable, "-m", "celery", "-A", "fleet.project", "--workdir", str(ROOT))
WORKERS = ("worker-1", "worker-2")
BOUNDARY = "----stayward-test"


@dataclass
class Production:
    """What runs: its address, its folder, its environment, its mail server, its workers."""

    url: str
    folder: Path
    env: dict[str, str]
    sink: smtp.Sink
    workers: list[subprocess.Popen] = field(default_factory=list)

    def manage(self, *arguments: str) -> str:
        """Run a command of manage.py and return what it said."""
        done = subprocess.run(
            [sys.executable, str(ROOT / "manage.py"), *arguments],
            check=False, cwd=self.folder, env=self.env, capture_output=True, text=True,
            stdin=subprocess.DEVNULL,
        )  # fmt: skip
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def sql(self, query: str, *values: object) -> list[tuple]:
        with psycopg.connect(self.env["STAYWARD_DATABASE"]) as connection:
            answer = connection.execute(query, values)
            return answer.fetchall() if answer.description else []

    def ring(self, task: str) -> None:
        """Put one more message for a task into the queue, as a further beat would."""
        with Celery(broker=self.env["STAYWARD_REDIS"]) as app:
            app.send_task(task)

    @contextmanager
    def celery(self, name: str, *arguments: str) -> Iterator[subprocess.Popen]:
        """Run a Celery process until the block ends; `log(name)` shows how far it is."""
        folder = self.folder / name
        folder.mkdir()
        command = [*CELERY, *arguments, "--loglevel=INFO"]
        cold = signal.SIGQUIT  # It waits for nothing: what is in hand stays in the queue.
        with processes.running(command, folder, lambda: True, env=self.env, stop=cold) as process:
            yield process

    def log(self, name: str) -> str:
        return (self.folder / name / "server.log").read_text()

    def beat(self, name: str) -> AbstractContextManager:
        return self.celery(name, "beat", "-s", str(self.folder / f"{name}-schedule"))

    def kill_hands(self) -> int:
        """Kill, with SIGKILL, the processes in which the workers do tasks; return how many."""
        killed = 0
        for worker in self.workers:
            children = Path(f"/proc/{worker.pid}/task/{worker.pid}/children").read_text().split()
            for child in children:
                os.kill(int(child), signal.SIGKILL)
                killed += 1
        return killed


def wait_for(what: Callable[[], object], seconds: float = 30) -> object:
    """Return the first true answer; fail when there is none in time."""
    until = time.monotonic() + seconds
    while not (answer := what()):
        assert time.monotonic() < until, "it did not come about in time"
        time.sleep(0.1)
    return answer


@dataclass
class Visitor:
    """Somebody at the pages, with cookies."""

    url: str
    opener: OpenerDirector = field(
        default_factory=lambda: build_opener(HTTPCookieProcessor(CookieJar()))
    )
    page: str = ""
    at: str = ""

    def open(self, path: str, data: bytes | None = None, kind: str = "") -> str:
        headers = {"Referer": self.url} | ({"Content-Type": kind} if kind else {})
        with self.opener.open(Request(self.url + path, data, headers), timeout=30) as answer:
            self.page, self.at = answer.read().decode(), answer.url.removeprefix(self.url)
        return self.page

    def post(self, path: str, **fields: str) -> str:
        return self.open(path, urlencode({**fields, **self.token}).encode())

    @property
    def token(self) -> dict[str, str]:
        return {
            "csrfmiddlewaretoken": re.search(
                r'Token" value="(\w+)"|token" value="(\w+)"', self.page
            )[2]
        }

    def sign_in(self, who: str, password: str) -> None:
        self.open("/account/login/")
        self.post("/account/login/", login=who, password=password)
        assert "Sign out" in self.page

    def hand_in(self, path: str, content: bytes) -> str:
        """Hand a workbook in on the import page."""
        self.open(path)
        field = "Content-Disposition: form-data; name="
        parts = [f'{field}"{name}"\r\n\r\n{value}' for name, value in self.token.items()]
        parts.append(f'{field}"files"; filename="fleet.xlsx"\r\n\r\n')
        head = "".join(f"--{BOUNDARY}\r\n{part}\r\n" for part in parts)[: -len("\r\n")]
        body = head.encode() + content + f"\r\n--{BOUNDARY}--\r\n".encode()
        return self.open(path, body, f"multipart/form-data; boundary={BOUNDARY}")

    def json(self, path: str) -> dict:
        return json.loads(self.open(path))


@pytest.fixture(scope="session")
def production(
    postgres_server: str, redis_server_url: str, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Production]:
    """gunicorn and two workers, set up by the commands of the README."""
    broker = f"{redis_server_url}/{REDIS_DATABASE}"
    with ExitStack() as stack:
        database = stack.enter_context(postgres.fresh_database(postgres_server))
        sink = stack.enter_context(smtp.running())
        stack.callback(_empty, broker)
        _empty(broker)
        folder = tmp_path_factory.mktemp("production")
        port = processes.free_port()
        env = environment(folder, database, broker, sink.url, port)
        site = Production(f"http://127.0.0.1:{port}", folder, env, sink)
        site.manage("migrate", "--skip-checks")
        site.manage("collectstatic", "--no-input")
        web = [sys.executable, "-m", "gunicorn", "fleet.project.wsgi", "--chdir", str(ROOT)]
        web += ["--bind", f"127.0.0.1:{port}", "--workers", "2"]
        stack.enter_context(processes.running(web, folder, lambda: True, env=env))
        for name in WORKERS:
            worker = site.celery(name, "worker", "--concurrency=1", "-n", f"{name}@%h")
            site.workers.append(stack.enter_context(worker))
        wait_for(lambda: all(" ready." in site.log(name) for name in WORKERS), 90)
        wait_for(lambda: answers(site.url), 90)
        yield site


def environment(folder: Path, database: str, broker: str, mail: str, port: int) -> dict[str, str]:
    plain = {name: value for name, value in os.environ.items() if not name.startswith("STAYWARD_")}
    plain.pop("DJANGO_SETTINGS_MODULE", None)
    return {
        **plain,
        "PATH": f"{postgres.find()}:{plain['PATH']}",  # pg_dump must be as new as the server.
        "STAYWARD_NO_VENV": "1",
        "STAYWARD_MODE": "production",
        "STAYWARD_SECRET_KEY": "a-long-random-text-of-a-test-that-signs-nothing-of-worth",
        "STAYWARD_HOSTS": "127.0.0.1",
        "STAYWARD_HTTPS": "0",
        "STAYWARD_SITE": f"http://127.0.0.1:{port}",
        "STAYWARD_VAR": str(folder / "var"),
        "STAYWARD_DATABASE": database,
        "STAYWARD_REDIS": broker,
        "STAYWARD_MAIL": mail,
        "STAYWARD_BACKUPS": "2",
        "PYTHONPATH": str(ROOT),
    }


def _empty(broker: str) -> None:
    with redis.Redis.from_url(broker) as client:
        client.flushdb()


def answers(url: str) -> bool:
    try:
        with urlopen(f"{url}/account/login/", timeout=10) as response:
            return response.status == 200
    except OSError:  # Nobody there yet, or too busy starting to answer in time.
        return False
