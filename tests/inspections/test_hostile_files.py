"""Hostile files, by the page and by the command: a sentence, nothing written, memory bounded."""

import json
import os
import subprocess
import sys

import pytest
from django.conf import settings

from tests.hostile_files import ANSWERS, LARGE, write_all

MOST_MEMORY = 700  # MB, of the whole process, over all files one after the other.
# Rows with faults and an encoding are asked about: until then the file is kept, for a day.
KEPT = {
    "many-rows", "two-hundred-thousand-csv-rows", "claims-to-reach-far",
    "windows-1252",
}  # fmt: skip


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> dict:
    """What became of each file, tried one after the other in a process of its own."""
    folder, var = tmp_path_factory.mktemp("hostile"), tmp_path_factory.mktemp("var")
    write_all(folder)
    (var / "tmp").mkdir()
    apart = {"STAYWARD_VAR": str(var), "STAYWARD_DATABASE": "", "TMPDIR": str(var / "tmp")}
    done = subprocess.run(
        [sys.executable, "-W", "error", "-m", "tests.hostile_child", str(folder)],
        cwd=settings.BASE_DIR,
        env=os.environ | apart,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    return json.loads(done.stdout)


WAYS = [(name, "command") for name in ANSWERS]
WAYS += [(name, "page") for name in ANSWERS if name not in LARGE]


@pytest.mark.parametrize(("name", "way"), WAYS)
def test_a_hostile_file_is_answered_with_a_sentence_and_writes_nothing(told, name, way):
    became = told[name][way]
    assert ANSWERS[name] in became["said"]
    assert ("exit code 2" if way == "command" else "status 200") in became["said"]
    assert not became["wrote"]


@pytest.mark.parametrize("name", sorted(set(ANSWERS) - KEPT - LARGE))
def test_no_file_is_left_behind(told, name):
    names = list(told)
    before = told[names[names.index(name) - 1]].get("page", {"left": told[name]["page"]["left"]})
    assert set(told[name]["page"]["left"]) <= set(before["left"])


def test_memory_stays_bounded_whatever_is_handed_in(told):
    most = {name: each[way]["memory"] for name, each in told.items() for way in each if name}
    assert max(most.values()) < MOST_MEMORY, sorted(most.items(), key=lambda item: item[1])[-5:]
    assert told[""]["memory"] < MOST_MEMORY / 3, "the program itself is the smaller part"
