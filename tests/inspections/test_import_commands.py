"""Import, export and template from the command line."""

import pytest
from django.core.management import CommandError, call_command
from python_calamine import CalamineWorkbook

from fleet.models import Boat
from tests import builders
from tests.workbooks import changed, contents, small, xlsx

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleet():
    return builders.empty_fleet("harbour")


@pytest.fixture
def workbook(tmp_path):
    path = tmp_path / "fleet.xlsx"
    path.write_bytes(xlsx(small())[0].content)
    return path


def test_without_write_it_only_checks(fleet, workbook, capsys):
    call_command("import_fleet", "harbour", workbook)
    assert "All good; nothing was written yet." in capsys.readouterr().out
    assert not Boat.objects.exists()


def test_with_write_it_writes(fleet, workbook, capsys):
    call_command("import_fleet", "harbour", workbook, "--write")
    lines = capsys.readouterr().out.splitlines()
    assert lines[-1] == "Written."
    assert lines[4].split() == ["parts", "5", "0", "0", "0"]
    assert Boat.objects.of(fleet).count() == 2


def test_faults_are_a_line_each_and_exit_2(fleet, tmp_path, capsys):
    path = tmp_path / "fleet.xlsx"
    path.write_bytes(xlsx(changed("boats", 3, length_m=-1))[0].content)
    with pytest.raises(SystemExit) as stopped:
        call_command("import_fleet", "harbour", path, "--write")
    assert stopped.value.code == 2
    told = capsys.readouterr()
    assert told.err.splitlines()[0] == (
        "boats, row 3, length m (-1): The number is negative. Write metres between 2 and 99."
    )
    assert told.out.splitlines()[-1] == "4 faults; nothing was written."
    assert not Boat.objects.exists()


def test_the_good_rows_are_taken_on_demand(fleet, tmp_path, capsys):
    path = tmp_path / "fleet.xlsx"
    path.write_bytes(xlsx(changed("boats", 3, length_m=-1))[0].content)
    with pytest.raises(SystemExit) as stopped:
        call_command("import_fleet", "harbour", path, "--write", "--good-rows")
    assert stopped.value.code == 2
    assert capsys.readouterr().out.splitlines()[-1] == "Written, without the rows of 4 faults."
    assert Boat.objects.of(fleet).count() == 1


def test_an_unknown_fleet_or_file_is_told_and_exits_2(fleet, workbook, tmp_path):
    for arguments, words in (
        (("harbor", workbook), "there are: harbour"),
        (("harbour", tmp_path / "nothing.xlsx"), "There is no file"),
    ):
        with pytest.raises(CommandError, match=words) as stopped:
            call_command("import_fleet", *arguments)
        assert stopped.value.returncode == 2


@pytest.mark.parametrize("target", ["out.xlsx", "folder"])
def test_what_is_exported_is_imported_by_another_fleet(fleet, workbook, tmp_path, target, capsys):
    call_command("import_fleet", "harbour", workbook, "--write")
    call_command("export_fleet", "harbour", tmp_path / target)
    other = builders.empty_fleet("estuary")
    call_command("import_fleet", "estuary", tmp_path / target, "--write")
    assert contents(other) == contents(fleet)


def test_a_target_that_cannot_be_written_is_told(fleet, tmp_path):
    with pytest.raises(CommandError, match="cannot be written"):
        call_command("export_fleet", "harbour", tmp_path / "no" / "such" / "folder.xlsx")


def test_the_template_is_a_workbook_with_notes(tmp_path, capsys):
    path = tmp_path / "template.xlsx"
    call_command("import_template", path)
    assert CalamineWorkbook.from_path(path).sheet_names[0] == "notes"
    with pytest.raises(CommandError, match=r"FILE\.xlsx"):
        call_command("import_template", tmp_path / "template.ods")
