"""The planted faults still fit the program, and their tests are there. One is planted for real."""

import re
import shutil
from pathlib import Path

import pytest

from tests.mutations.__main__ import LEFT_BEHIND, ROOT, found
from tests.mutations.planted import FAULTS, Fault

every_fault = pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)


@every_fault
def test_its_place_in_the_program_is_there_exactly_once(fault):
    assert (ROOT / fault.file).read_text().count(fault.old) == 1


@every_fault
def test_the_test_that_must_find_it_is_in_the_suite(fault):
    file, _, name = fault.test.partition("::")
    text = (ROOT / file).read_text()
    assert not name or re.search(rf"^def {name}\(", text, re.MULTILINE)


@pytest.fixture(scope="module")
def copy(tmp_path_factory) -> Path:
    copy = tmp_path_factory.mktemp("mutations") / "program"
    shutil.copytree(ROOT, copy, ignore=LEFT_BEHIND)
    return copy


def test_a_planted_fault_turns_its_test_red_and_a_harmless_change_does_not(copy, capsys):
    swapped = FAULTS[0]
    assert found(copy, swapped)
    harmless = Fault("harmless", swapped.file, "Closed-form", "Closed form", swapped.test)
    assert not found(copy, harmless)
    misplaced = Fault("misplaced", swapped.file, "nowhere in it", "", swapped.test)
    assert not found(copy, misplaced)
    said = capsys.readouterr().out
    assert "NOT FOUND: the test stays green" in said
    assert "cannot be planted" in said
