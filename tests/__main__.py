"""The suite: on SQLite with the pages in Chromium, then on a real PostgreSQL.

The second run repeats everything that touches the database; what does not cannot come out
differently there. Both use one PostgreSQL and one Redis, started here unless given.
"""

import argparse
import os
import subprocess
import sys
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path

from tests.services import chromium, postgres, redis_server

ROOT = Path(__file__).resolve().parent.parent
NOTHING_COLLECTED = 5
DATABASES = ("sqlite", "postgresql")


def main(arguments: Sequence[str]) -> int:
    chosen, for_pytest = _parse(arguments)
    if not chosen.quick:
        chromium.install()
    environment = _plain_environment()
    with ExitStack() as servers:
        environment[redis_server.GIVEN] = servers.enter_context(redis_server.running())
        environment[postgres.GIVEN] = servers.enter_context(postgres.running())
        runs = [_run(name, chosen.quick, for_pytest, environment) for name in _wanted(chosen)]
    return _verdict(runs)


def _plain_environment() -> dict[str, str]:
    """Without this machine's own STAYWARD_ settings, which are not what is tested."""
    return {
        name: value
        for name, value in os.environ.items()
        if not name.startswith("STAYWARD_") or name.startswith("STAYWARD_TEST_")
    }


def _parse(arguments: Sequence[str]) -> tuple[argparse.Namespace, list[str]]:
    parser = argparse.ArgumentParser(
        prog="manage.py test",
        description=__doc__,
        epilog="Everything else is handed to pytest, for example: -x -k condemned",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--quick", action="store_true", help="SQLite only, without the browser")
    parser.add_argument("--database", choices=DATABASES, help="only on this one")
    return parser.parse_known_args(arguments)


def _wanted(chosen: argparse.Namespace) -> Sequence[str]:
    if chosen.database:
        return [chosen.database]
    return DATABASES[:1] if chosen.quick else DATABASES


def _run(database: str, quick: bool, for_pytest: list[str], environment: dict[str, str]) -> int:
    on_postgres = database == "postgresql"
    command = [sys.executable, "-m", "pytest", *_sharing(for_pytest)]
    command += ["--database-only"] if on_postgres else []
    command += ["-m", "not browser"] if quick else []
    url = environment[postgres.GIVEN] if on_postgres else ""
    print(f"\n== {database}: {' '.join(command[2:] + for_pytest)}", flush=True)
    done = subprocess.run(
        [*command, *for_pytest],
        check=False,
        cwd=ROOT,
        env={**environment, "STAYWARD_DATABASE": url},
    )
    return done.returncode


def _sharing(for_pytest: list[str]) -> list[str]:
    """A whole run is shared, by one more than there are cores: much of it waits for servers.

    In the order of `LONG` in tests/conftest.py, not by the number of tests in a file.
    """
    if for_pytest:
        return []
    return [
        "-n",
        str(min((os.cpu_count() or 1) + 1, 4)),
        "--dist",
        "loadfile",
        "--no-loadscope-reorder",
    ]


def _verdict(codes: list[int]) -> int:
    """0 if every run passed; a run may be empty if another was not (`-k` on a pure part)."""
    bad = [code for code in codes if code not in (0, NOTHING_COLLECTED)]
    if bad:
        return bad[0]
    return 0 if 0 in codes else NOTHING_COLLECTED


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
