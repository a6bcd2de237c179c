"""The locks are whole: what is listed is locked, what is locked is hashed."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
LOCKS = {
    "fleet/requirements.in": "requirements.txt",
    "tests/requirements.in": "tests/requirements.txt",
}


def name_of(line: str) -> str:
    name = re.match(r"[A-Za-z0-9._-]+", line).group()
    return re.sub(r"[-_.]+", "-", name).lower()


def locked(path: str) -> dict[str, str]:
    """Return package -> everything said of it, hashes included."""
    entries = re.split(r"\n(?=[A-Za-z])", (ROOT / path).read_text())
    return {name_of(entry): entry for entry in entries if "==" in entry.splitlines()[0]}


@pytest.mark.parametrize("listed", LOCKS)
def test_what_is_listed_is_locked(listed):
    lines = (ROOT / listed).read_text().splitlines()
    names = {name_of(line) for line in lines if re.match(r"[A-Za-z]", line)}
    assert names - locked(LOCKS[listed]).keys() == set()


@pytest.mark.parametrize("lock", LOCKS.values())
def test_what_is_locked_is_hashed_and_names_no_machine(lock):
    assert [name for name, entry in locked(lock).items() if "--hash=sha256:" not in entry] == []
    assert not re.search(r"^(-|--)|file:|/tmp|/home|/root", (ROOT / lock).read_text(), re.MULTILINE)


def test_both_locks_agree_where_they_meet():
    run_time, tests = (locked(path) for path in LOCKS.values())
    versions = {
        name: (run_time[name].split()[0], tests[name].split()[0])
        for name in run_time.keys() & tests.keys()
    }
    assert {name: pair for name, pair in versions.items() if pair[0] != pair[1]} == {}


def test_debians_own_python_finds_what_later_ones_no_longer_need():
    """redis asks for async-timeout below Python 3.11.3, and Debian 12 has 3.11.2."""
    assert "async-timeout" in locked("requirements.txt")
