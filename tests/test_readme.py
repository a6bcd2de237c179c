"""The README's two set-ups, typed as they stand there: its commands are read out of it and run.

In a scratch copy of the project, with real servers. Nothing is changed on the way but the port, and
the blank lines of .env are filled in as the README says.
"""

import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from http.cookiejar import CookieJar, DefaultCookiePolicy
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import HTTPCookieProcessor, HTTPRedirectHandler, Request, build_opener, urlopen

import psycopg
import pytest
import redis

from tests.demonstration import ROOT, embedded
from tests.production import Visitor, wait_for
from tests.services import processes, smtp
from tests.workbooks import small, xlsx

README = (ROOT / "README.md").read_text()
PAGES = ("/our-club/", "/our-club/boats/", "/our-club/outlook/", "/our-club/refit/",
         "/our-club/budget/", "/our-club/reminders/", "/our-club/work/",
         "/account/password/change/")  # fmt: skip
COMMAND = re.compile(r"^    ((?:python3|cp|set|\.venv/bin/|curl) ?.*?)(?:\s+# .*)?$", re.M)
HERE = "127.0.0.1"
NAME = "rigging.example.org"
REDIS_DATABASE = 14
NOT_COPIED = ("var", ".venv", ".git", "__pycache__", ".hypothesis", "*_cache", "node_modules")


def commands(section: str) -> list[str]:
    """Return the commands printed under a heading, in order, without their remarks."""
    text = README.partition(f"\n## {section}\n")[2].partition("\n## ")[0]
    return COMMAND.findall(text)


@dataclass
class Shell:
    """Somebody at a terminal in a fresh copy of the project."""

    folder: Path
    env: dict[str, str]
    stack: ExitStack
    said: list[str] = field(default_factory=list)
    variables: str = ""

    def type(self, command: str) -> None:
        """Run a command to its end; it must succeed."""
        if command.startswith("set -a"):
            self.variables = f"{command}; "
            return
        done = subprocess.run(
            ["sh", "-c", self.variables + command],
            check=False, cwd=self.folder, env=self.env, stdin=subprocess.DEVNULL,
            capture_output=True, text=True, timeout=180,
        )  # fmt: skip
        assert done.returncode == 0, f"{command}\n{done.stdout}{done.stderr}"
        self.said.append(done.stdout)

    def keep_running(self, command: str, number: int) -> None:
        """Run a server of the README until the test ends."""
        log = self.folder / f"server-{number}"
        log.mkdir()
        typed = f"cd {self.folder}; {self.variables}exec {command}"
        # Celery, told to quit at once, leaves what it has in hand in the queue.
        stop = signal.SIGQUIT if "celery" in command else signal.SIGTERM
        running = processes.running(["sh", "-c", typed], log, lambda: True, env=self.env, stop=stop)
        self.stack.enter_context(running)

    @property
    def password(self) -> str:
        return re.search(r"password (\S+)\.\n", "".join(self.said))[1]


@pytest.fixture
def shell(tmp_path: Path) -> Iterator[Shell]:
    folder = tmp_path / "stayward"
    shutil.copytree(ROOT, folder, ignore=shutil.ignore_patterns(*NOT_COPIED))
    (folder / ".venv").symlink_to(sys.prefix)
    env = embedded(folder / "var")
    del env["STAYWARD_VAR"]
    env["PATH"] = f"{Path(sys.executable).parent}:{env['PATH']}"
    with ExitStack() as stack:
        yield Shell(folder, env, stack)


def opens(visitor: Visitor, password: str) -> None:
    visitor.sign_in("you@example.org", password)
    for page in PAGES:
        assert "<h1>" in visitor.open(page), page
    assert "font-family" in visitor.open("/static/stayward.css")


def test_your_own_fleet_as_the_readme_sets_it_up(shell):
    typed = commands("Your own fleet")
    assert [line.split()[2] for line in typed] == [
        "migrate", "new_fleet", "import_template", "import_fleet", "import_fleet", "refresh",
        "serve",
    ]  # fmt: skip
    port = processes.free_port()
    shell.env["STAYWARD_PORT"] = str(port)
    for command in typed[:-1]:
        shell.type(command)
        if "import_template" in command:
            (shell.folder / "our-club.xlsx").write_bytes(xlsx(small())[0].content)  # filled in
    shell.type('python3 manage.py shell -c "from fleet.models import Fleet; '
               'Fleet.objects.update(reminders_from=0)"')  # fmt: skip
    shell.type("python3 manage.py send_reminders --let-go")
    shell.keep_running(typed[-1], 0)
    visitor = Visitor(f"http://{HERE}:{port}")
    wait_for(lambda: healthy(visitor.url, {}), 60)
    opens(visitor, shell.password)
    assert "Tern" in visitor.open("/our-club/boats/")
    letters = shell.folder / "var" / "mail"
    wait_for(lambda: list(letters.glob("*.eml")), 60)
    letter = message_from_bytes(next(letters.glob("*.eml")).read_bytes(), policy=policy.default)
    assert letter["To"]
    assert f"{visitor.url}/our-club/" in letter.get_body(("plain",)).get_content()
    wait_for(lambda: list((shell.folder / "var" / "backups").glob("*.sqlite3")), 60)


def healthy(url: str, headers: dict[str, str]) -> bool:
    try:
        with urlopen(Request(f"{url}/health/", headers=headers), timeout=10) as answer:
            return answer.read() == b"ok\n"
    except OSError:  # Not up yet.
        return False


# -- production


class ThroughHttps(Visitor):
    """Somebody who comes through the server that speaks HTTPS, as that hands requests on."""

    def __init__(self, url: str) -> None:
        # The cookies are for HTTPS alone, and it is plain HTTP from the proxy on.
        cookies = CookieJar(DefaultCookiePolicy(secure_protocols=("http", "https")))
        super().__init__(url, build_opener(HTTPCookieProcessor(cookies)))

    def open(self, path: str, data: bytes | None = None, kind: str = "") -> str:
        headers = {"Host": NAME, "X-Forwarded-Proto": "https", "Referer": f"https://{NAME}/"}
        headers |= {"Content-Type": kind} if kind else {}
        request = Request(self.url + path, data, headers)
        with self.opener.open(request, timeout=30) as answer:
            self.page, self.at = answer.read().decode(), answer.url.removeprefix(self.url)
        return self.page


def fill_in(path: Path, **values: str) -> None:
    """Fill in blank lines of .env; each must be there and blank."""
    text = path.read_text()
    for name, value in values.items():
        assert f"\n{name}=\n" in text, name
        text = text.replace(f"\n{name}=\n", f"\n{name}='{value}'\n")
    path.write_text(text)


@pytest.fixture
def sink() -> Iterator[smtp.Sink]:
    with smtp.running() as sink:
        yield sink


@pytest.fixture
def broker(redis_server_url: str) -> Iterator[str]:
    url = f"{redis_server_url}/{REDIS_DATABASE}"
    with redis.Redis.from_url(url) as client:
        client.flushdb()
        yield url
        client.flushdb()


def test_running_it_for_others_as_the_readme_sets_it_up(shell, postgres_url, broker, sink):
    port = processes.free_port()
    typed = [line.replace(":8000", f":{port}") for line in commands("Running it for others")]
    servers = [line for line in typed if line.startswith(".venv/bin/")]
    assert [Path(line.split()[0]).name for line in servers] == ["gunicorn", "celery", "celery"]
    assert " worker " in servers[1]
    assert servers[2].endswith(" beat")
    asks = [line for line in typed if line.startswith("curl")]
    for command in (line for line in typed if line not in servers + asks):
        shell.type(command)
        if command.startswith("cp "):
            fill_in(
                shell.folder / ".env",
                STAYWARD_SECRET_KEY="signs-nothing-of-worth-in-a-test-that-is-long-enough-for-it",
                STAYWARD_DATABASE=postgres_url, STAYWARD_REDIS=broker, STAYWARD_MAIL=sink.url,
                STAYWARD_NO_VENV="1",
            )  # fmt: skip
    for number, command in enumerate(servers):
        shell.keep_running(command, number)
    [(header, url)] = [re.findall(r'-H "(.+?)" (\S+)', line)[0] for line in asks]
    headers = dict([header.split(": ")])
    wait_for(lambda: healthy(url.removesuffix("/health/"), headers), 60)
    visitor = ThroughHttps(f"http://{HERE}:{port}")
    opens(visitor, shell.password)
    is_turned_to_https(visitor.url)
    takes_a_workbook(visitor)
    reminds(visitor, sink)
    with psycopg.connect(postgres_url) as database:
        database.execute("UPDATE fleet_fleet SET reminders_from = 0")
        database.commit()
        by_the_clock = "SELECT 1 FROM fleet_workrow WHERE kind = 'reminders' AND day IS NOT NULL"
        wait_for(lambda: database.execute(by_the_clock).fetchone(), 30)


class Stays(HTTPRedirectHandler):
    def redirect_request(self, *args) -> None:
        return None


def is_turned_to_https(url: str) -> None:
    """Who comes past the proxy, without HTTPS, is sent there."""
    with pytest.raises(HTTPError) as turned:
        build_opener(Stays).open(Request(f"{url}/our-club/", headers={"Host": NAME}))
    assert turned.value.code == 301
    assert turned.value.headers["Location"] == f"https://{NAME}/our-club/"
    turned.value.close()


def takes_a_workbook(visitor: Visitor) -> None:
    visitor.hand_in("/our-club/import/", xlsx(small())[0].content)
    visitor.post(visitor.at, file=visitor.at.partition("file=")[2], take="all")
    work = visitor.at
    wait_for(lambda: visitor.json(f"{work}?as=json")["over"], 60)
    assert "Written: 19 new rows" in visitor.open(work)


def reminds(visitor: Visitor, sink: smtp.Sink) -> None:
    visitor.open("/our-club/reminders/")
    visitor.post("/our-club/reminders/let-go/")
    wait_for(lambda: sink.messages, 60)
    text = sink.messages[0].get_body(("plain",)).get_content()
    assert f"https://{NAME}/our-club/" in text
    assert sink.messages[0]["From"] == "Stayward <stayward@example.org>"
