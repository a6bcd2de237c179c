"""Serve the pages on this computer, and do the long work beside them."""

import errno
import os
import signal
import socket
import subprocess
import sys
import threading

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from fleet import chart_script
from fleet.checks import OWN_CHECKS
from fleet.models import Fleet

HIGHEST_PORT = 65_535
LOOK_SECONDS = 0.2
PATIENCE_SECONDS = 15
LOOPBACK = ("127.0.0.1", "localhost", "::1")


class Command(BaseCommand):
    requires_system_checks = OWN_CHECKS
    help = "Serve the pages, on this computer alone unless --host says otherwise."

    def add_arguments(self, parser) -> None:
        parser.add_argument("--host", default="127.0.0.1")
        usual = f"{settings.STAYWARD_PORT}, or the next that is free"
        parser.add_argument("--port", type=int, help=f"usually {usual}")

    def handle(self, *args, **options) -> None:
        host = options["host"]
        refuse_half_ready(host)
        port = self.port(host, options["port"])
        chart_script.ensure()
        settings.STATIC_ROOT.mkdir(parents=True, exist_ok=True)
        address = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
        self.stdout.write(f"Stayward is at http://{address}/ (Ctrl-C ends it).")
        self.stdout.flush()
        connection.close()
        environment = settings.STAYWARD_ENVIRONMENT.of_children(port, os.getpid())
        ended = supervise(environment, pages=pages(address), ticker=ticker())
        if ended:
            raise CommandError(f"The process of the {ended} ended by itself, so the rest was too.")

    def port(self, host: str, asked: int | None) -> int:
        """Return the port asked for, else the first free one; say when it is not the usual one."""
        if asked is not None:
            return wanted_port(host, asked)
        usual = settings.STAYWARD_PORT
        port = free_port(host, usual)
        if port != usual:
            self.stdout.write(f"Port {usual} is taken by another program: this takes {port}.")
        return port


def refuse_half_ready(host: str) -> None:
    """Raise CommandError, with what to do, where pages would not answer or should not."""
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        raise CommandError("The database is not up to date. Run: python3 manage.py migrate")
    if host in LOOPBACK:
        return
    if Fleet.objects.filter(as_of__isnull=False).exists():
        raise CommandError(
            "A demonstration fleet with published passwords is in this database, so it is "
            "served on this computer only. Use a database of your own for others to reach."
        )
    if settings.STAYWARD_ONLY_HERE:
        raise CommandError(
            "Others would be refused: set STAYWARD_HOSTS to the names and addresses by which they "
            f"reach this computer, as in: STAYWARD_HOSTS={socket.gethostname()},192.0.2.10 "
            f"python3 manage.py serve --host {host}"
        )


def pages(address: str) -> list[str]:
    """Return the command that serves the pages and ends when we are gone."""
    workers = str(settings.STAYWARD_ENVIRONMENT.page_workers)
    return [
        *(sys.executable, "-m", "gunicorn", "fleet.project.wsgi", "--bind", address),
        *("--config", "python:fleet.project.beside"),
        *("--workers", workers, "--threads", "4", "--log-level", "warning"),
    ]


def ticker() -> list[str]:
    manage = str(settings.BASE_DIR / "manage.py")
    return [sys.executable, manage, "ticker", "--beside", str(os.getpid())]


def supervise(environment: dict[str, str], **commands: list[str]) -> str:
    """Run the commands until a signal or until one of them ends; then end them all.

    Return the name of the one that ended by itself, blank after a signal. They are fresh
    processes: what the chart bundler started here must not be forked into them.
    """
    asked = threading.Event()
    for each in (signal.SIGTERM, signal.SIGINT):
        signal.signal(each, lambda number, frame: asked.set())
    here = {"env": environment, "cwd": settings.BASE_DIR}  # Wherever the command was typed.
    running = {name: subprocess.Popen(command, **here) for name, command in commands.items()}
    gone = ""
    while not asked.wait(LOOK_SECONDS) and not gone:
        gone = next((name for name, each in running.items() if each.poll() is not None), "")
    for each in running.values():
        each.terminate()
    for each in running.values():
        end(each)
    return gone


def end(process: subprocess.Popen) -> None:
    """Wait for a process that was asked to end; what it had in hand others take up."""
    try:
        process.wait(PATIENCE_SECONDS)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


def wanted_port(host: str, port: int) -> int:
    """Return the port if nobody listens there. Raises CommandError: one asked for is meant."""
    if not 0 < port <= HIGHEST_PORT:
        raise CommandError(f"--port takes a number from 1 to {HIGHEST_PORT}.")
    if not is_free(host, port):
        raise CommandError(
            f"Port {port} is taken by another program: end that one, or choose another with --port."
        )
    return port


def free_port(host: str, wanted: int) -> int:
    """Return the first port from ``wanted`` on that nobody listens on. Raises CommandError."""
    last = min(wanted + 19, HIGHEST_PORT)
    for port in range(wanted, last + 1):
        if is_free(host, port):
            return port
    raise CommandError(f"Ports {wanted} to {last} are all taken: choose one with --port.")


def is_free(host: str, port: int) -> bool:
    """Try whether one can listen there. Raises CommandError where the host is not this computer."""
    with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            if isinstance(error, socket.gaierror) or error.errno == errno.EADDRNOTAVAIL:
                raise CommandError(f"This computer has no address {host}: check --host.") from error
            return False
        return True
