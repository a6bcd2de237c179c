"""The server: what it refuses to serve, the port it takes, and how it answers."""

import re
import socket
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from urllib.error import HTTPError, URLError
from urllib.request import urlopen

import pytest
from django.core.management import CommandError

from fleet.management.commands.serve import free_port, is_free, wanted_port
from tests.demonstration import ROOT, Demo, Served, copied, embedded, manage, served
from tests.services import processes

HERE = "127.0.0.1"


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A var/ with a database that is up to date and has no fleet."""
    folder = tmp_path_factory.mktemp("empty")
    assert manage(folder, "migrate", "--skip-checks").returncode == 0
    return folder


@contextmanager
def listening(*ports: int) -> Iterator[None]:
    """Somebody else listens on these ports."""
    with ExitStack() as taken:
        for port in ports:
            other = taken.enter_context(socket.socket())
            other.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                other.bind((HERE, port))
            except OSError:
                continue  # Taken by a third: as good for the test.
            other.listen()
        yield


# -- refusals


def test_a_database_that_is_not_up_to_date_is_not_served(tmp_path: Path):
    done = manage(tmp_path, "serve", seconds=120)
    assert done.returncode == 1
    assert "Run: python3 manage.py migrate" in done.stderr


@pytest.mark.parametrize("host", ["0.0.0.0", "::"])
def test_a_demo_fleet_with_published_passwords_stays_on_this_computer(
    demo: Demo, tmp_path: Path, host: str
):
    done = manage(copied(demo.folder, tmp_path / "var"), "serve", "--host", host, seconds=120)
    assert done.returncode == 1
    assert "served on this computer only" in done.stderr


def test_a_fleet_of_ones_own_may_be_reached_by_others(empty: Path, tmp_path: Path):
    known_as = {"STAYWARD_HOSTS": "boathouse.invalid,127.0.0.1"}
    with started(copied(empty, tmp_path / "var"), "--host", "0.0.0.0", **known_as) as address:
        assert address.startswith("http://0.0.0.0:")
        assert answers(port_of(address))


def test_others_are_not_promised_pages_that_would_refuse_them(empty: Path):
    done = manage(empty, "serve", "--host", "0.0.0.0", seconds=120)
    assert done.returncode == 1
    assert "set STAYWARD_HOSTS to the names and addresses by which they reach" in done.stderr
    assert "python3 manage.py serve --host 0.0.0.0" in done.stderr


@pytest.mark.parametrize("host", ["192.0.2.1", "stayward.invalid"])  # RFC 5737, RFC 6761
def test_an_address_of_another_computer_is_told_so(empty: Path, host: str):
    known_as = {"STAYWARD_HOSTS": host}
    done = manage(empty, "serve", "--host", host, seconds=120, **known_as)
    assert done.returncode == 1
    assert (
        done.stderr.strip() == f"CommandError: This computer has no address {host}: check --host."
    )


# -- ports


@contextmanager
def started(folder: Path, *options: str, **variables: str) -> Iterator[str]:
    """Start `serve` and wait for its own words; return the address it says."""
    log = folder / "server.log"
    env = {"STAYWARD_PORT": str(processes.free_port()), **embedded(folder), **variables}
    command = [sys.executable, str(ROOT / "manage.py"), "serve", *options]

    def says_where() -> bool:
        return "Stayward is at" in log.read_text()

    with processes.running(command, folder, says_where, env=env, seconds=120):
        yield re.search(r"Stayward is at (\S+)/ ", log.read_text())[1]


def test_the_usual_port_when_taken_is_passed_over_for_the_next_and_it_is_said(
    empty: Path, tmp_path: Path
):
    usual, folder = processes.free_port(), copied(empty, tmp_path / "var")
    with listening(usual), started(folder, STAYWARD_PORT=str(usual)) as address:
        assert usual < port_of(address) < usual + 20
        told = f"Port {usual} is taken by another program: this takes {port_of(address)}."
        assert told in (folder / "server.log").read_text()
        assert answers(port_of(address))


def test_a_port_asked_for_and_taken_is_told_in_one_sentence(empty: Path):
    wanted = processes.free_port()
    with listening(wanted):
        done = manage(empty, "serve", "--port", str(wanted), seconds=120)
    assert done.returncode == 1
    assert done.stderr.strip() == (
        f"CommandError: Port {wanted} is taken by another program: end that one, or choose "
        "another with --port."
    )


def port_of(address: str) -> int:
    return int(address.rpartition(":")[2])


def answers(port: int, seconds: float = 60) -> bool:
    """Ask for the sign-in page until it comes: the address is said before gunicorn is up."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        with suppress(URLError, ConnectionError):
            return b"Stayward" in urlopen(f"http://{HERE}:{port}/account/login/").read()
        time.sleep(0.1)
    return False


def twenty_free_ports() -> int:
    """The first of twenty in a row, below those that connections of other tests come from."""
    for first in range(12_100, 30_000, 20):
        if all(is_free(HERE, port) for port in range(first, first + 20)):
            return first
    raise AssertionError("no twenty ports in a row are free below 30,000")


def test_twenty_taken_ports_are_enough():
    wanted = twenty_free_ports()
    told = f"Ports {wanted} to {wanted + 19} are all taken"
    with listening(*range(wanted, wanted + 20)), pytest.raises(CommandError, match=told):
        free_port(HERE, wanted)
    with listening(*range(wanted, wanted + 19)):
        assert free_port(HERE, wanted) == wanted + 19


@pytest.mark.parametrize("port", [0, -1, 65_536, 70_000])
def test_a_port_that_cannot_be_is_told_so(port: int):
    with pytest.raises(CommandError, match="--port takes a number from 1 to 65535"):
        wanted_port(HERE, port)


# -- how it answers


@pytest.fixture(scope="module")
def server(empty: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with served(copied(empty, tmp_path_factory.mktemp("served") / "var")) as server:
        yield server


def test_pages_forbid_scripts_and_styles_of_others_and_inline(server: Served):
    with urlopen(f"{server.url}/account/login/") as response:
        policy = dict(
            rule.strip().split(" ", 1)
            for rule in response.headers["Content-Security-Policy"].split(";")
        )
        assert (policy["default-src"], policy["script-src"]) == ("'none'", "'self'")
        assert policy["style-src"] == "'self'"
        assert "unsafe" not in response.headers["Content-Security-Policy"]
        assert response.headers["X-Content-Type-Options"] == "nosniff"
        assert response.headers["X-Frame-Options"] == "DENY"


def test_an_absent_page_says_so_without_the_programs_insides(server: Served):
    with pytest.raises(HTTPError) as refusal:
        urlopen(f"{server.url}/no/such/page/at/all")
    body = refusal.value.read().decode()
    assert refusal.value.code == 404
    assert "No such page here" in body
    assert "urlpatterns" not in body


@pytest.mark.parametrize("name", ["stayward.css", "charts.js", "generated/vega.js"])
def test_styles_and_scripts_come_from_the_same_server(server: Served, name: str):
    with urlopen(f"{server.url}/static/{name}") as response:
        assert len(response.read()) > 1000
