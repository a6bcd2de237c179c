"""Serve the pages on this computer."""

import errno
import os
import socket
import sys

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from fleet import chart_script
from fleet.models import Fleet

HIGHEST_PORT = 65_535
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
        # A fresh process: the chart bundler must not be forked into gunicorn's workers.
        server = ["-m", "gunicorn", "fleet.project.wsgi", "--bind", address]
        server += ["--chdir", str(settings.BASE_DIR)]  # Wherever the command was typed.
        quiet = ["--workers", "2", "--threads", "4", "--log-level", "warning"]
        os.execv(sys.executable, [sys.executable, *server, *quiet])


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
