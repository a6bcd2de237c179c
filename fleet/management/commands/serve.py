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
from fleet.models import Fleet

HIGHEST_PORT = 65_535
LOOK_SECONDS = 0.2
PATIENCE_SECONDS = 15
LOOPBACK = ("127.0.0.1", "localhost", "::1")


class Command(BaseCommand):
    help = "Serve the pages, on this computer alone unless --host says otherwise."

    def add_arguments(self, parser) -> None:
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *args, **options) -> None:
        host, port = options["host"], options["port"]
        executor = MigrationExecutor(connection)
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            raise CommandError("The database is not up to date. Run: python3 manage.py migrate")
        if host not in LOOPBACK and Fleet.objects.filter(as_of__isnull=False).exists():
            raise CommandError(
                "A demonstration fleet with published passwords is in this database, so it is "
                "served on this computer only. Use a database of your own for others to reach."
            )
        port = free_port(host, port)
        chart_script.ensure()
        settings.STATIC_ROOT.mkdir(parents=True, exist_ok=True)
        address = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
        self.stdout.write(f"Stayward is at http://{address}/ (Ctrl-C ends it).")
        self.stdout.flush()
        connection.close()
        ended = supervise(
            pages=[
                *(sys.executable, "-m", "gunicorn", "fleet.project.wsgi", "--bind", address),
                *("--chdir", str(settings.BASE_DIR)),  # Wherever the command was typed.
                *("--workers", "2", "--threads", "4", "--log-level", "warning"),
            ],
            ticker=[
                *(sys.executable, str(settings.BASE_DIR / "manage.py"), "ticker"),
                *("--beside", str(os.getpid())),
            ],
        )
        if ended:
            raise CommandError(f"The process of the {ended} ended by itself, so the rest was too.")


def supervise(**commands: list[str]) -> str:
    """Run the commands until a signal or until one of them ends; then end them all.

    Return the name of the one that ended by itself, blank after a signal. They are fresh
    processes: what the chart bundler started here must not be forked into them.
    """
    asked = threading.Event()
    for each in (signal.SIGTERM, signal.SIGINT):
        signal.signal(each, lambda number, frame: asked.set())
    running = {name: subprocess.Popen(command) for name, command in commands.items()}
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


def free_port(host: str, wanted: int) -> int:
    """Return the first port from ``wanted`` on that nobody listens on. Raises CommandError."""
    if not 0 < wanted <= HIGHEST_PORT:
        raise CommandError(f"--port takes a number from 1 to {HIGHEST_PORT}.")
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
