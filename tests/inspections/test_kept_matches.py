"""The fleet's kept matches: used from the command line, seen, named, forgotten."""

import re

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from fleet.models import Installation, SheetMatch
from inspections.spreadsheets import match_words
from tests import bosun_sheets as book
from tests import builders
from tests.inspections.matching_pages import parts, sheet, text_of, two_boats, use, write
from tests.inspections.test_import_page import at, hand_in, signed_in
from tests.test_pages import too_small, too_wide

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleet():
    return two_boats()


@pytest.fixture
def bosun(fleet):
    return signed_in(fleet, "bosun")


@pytest.fixture
def kept(fleet, bosun) -> SheetMatch:
    """The match of the sheet with a row a part, made by the bosun and not yet written by."""
    page = hand_in(bosun, fleet, book.xlsx(sheet("by part")))
    use(bosun, fleet, page, t0__decimal=".", name="Rigging book")
    return SheetMatch.objects.get()


def on_disk(tmp_path, rows, written=book.xlsx):
    file = written(rows)[0]
    path = tmp_path / file.name
    path.write_bytes(file.content)
    return path


def one(fleet, name: str, kept) -> str:
    return reverse(name, kwargs={"fleet": fleet.slug, "pk": kept.pk})


# -- from the command line


def test_a_file_with_known_headers_is_read_by_its_match_and_only_checked(
    fleet, kept, tmp_path, capsys
):
    call_command("import_fleet", "harbour", on_disk(tmp_path, sheet("by part")))
    out = capsys.readouterr().out
    assert re.search(r"Read by the match “Rigging book”, kept since \d+ \w+ \d{4} \(made by", out)
    assert "All good; nothing was written yet." in out
    assert not Installation.objects.exists()
    kept.refresh_from_db()
    assert kept.used_at is None


def test_with_write_the_rows_are_those_of_the_page_and_the_use_is_noted(
    fleet, kept, bosun, tmp_path, capsys
):
    call_command("import_fleet", "harbour", on_disk(tmp_path, sheet("by part")), "--write")
    assert capsys.readouterr().out.splitlines()[-1] == "Written."
    written = parts(fleet)
    assert len(written) == 4
    kept.refresh_from_db()
    assert kept.used_at is not None
    page = hand_in(bosun, fleet, book.xlsx(sheet("by part")))
    assert "There is nothing to write" in text_of(use(bosun, fleet, page))
    assert parts(fleet) == written


def test_a_csv_file_is_read_by_the_match_made_of_one(fleet, bosun, tmp_path, capsys):
    use(bosun, fleet, hand_in(bosun, fleet, book.csv(sheet("imperial"))))
    call_command("import_fleet", "harbour", on_disk(tmp_path, sheet("imperial"), book.csv),
                 "--write")  # fmt: skip
    assert [row[4] for row in parts(fleet)] == [7.94, 7.94, 3.97, 4.76, 7.14]


def test_a_sheet_no_match_is_kept_for_says_in_one_sentence_where_to_make_one(fleet, tmp_path):
    with pytest.raises(CommandError) as stopped:
        call_command("import_fleet", "harbour", on_disk(tmp_path, sheet("imperial")))
    assert stopped.value.returncode == 2
    assert str(stopped.value) == (
        "rigging-book.xlsx is not in our layout and Harbour keeps no match for its headers: hand "
        "it in once on the page Import and export of the fleet, /harbour/import/, where its "
        "columns are matched and the match is kept."
    )


def test_another_fleets_match_is_not_used(fleet, kept, tmp_path):
    builders.empty_fleet("estuary")
    with pytest.raises(CommandError, match="Estuary keeps no match"):
        call_command("import_fleet", "estuary", on_disk(tmp_path, sheet("by part")))


def test_a_word_nobody_has_answered_for_stops_the_command_and_is_named(fleet, kept, tmp_path):
    rows = sheet("by part")[:2]
    rows[1][1] = "V1"
    with pytest.raises(CommandError, match="What does “v1” mean under “stay”") as stopped:
        call_command("import_fleet", "harbour", on_disk(tmp_path, rows), "--write")
    assert "Nothing was read." in str(stopped.value)
    assert not Installation.objects.exists()


def test_a_fault_names_their_own_row_and_column(fleet, kept, tmp_path, capsys):
    rows = sheet("by part")
    rows[1][0] = "Gannet"
    with pytest.raises(SystemExit):
        call_command("import_fleet", "harbour", on_disk(tmp_path, rows), "--write")
    assert capsys.readouterr().err.startswith("Rigging, row 2, A “Vessel” → boat (Gannet): ")
    assert not Installation.objects.exists()


# -- what is remembered


def test_a_match_used_as_it_stands_keeps_who_made_it_and_when(fleet, kept):
    made = (kept.made_at, kept.made_by)
    manager = signed_in(fleet, "manager")
    page = write(manager, fleet, use(manager, fleet, hand_in(manager, fleet, book.xlsx(
        sheet("by part")))))  # fmt: skip
    assert "Written" in text_of(page)
    kept.refresh_from_db()
    assert (kept.made_at, kept.made_by) == made
    assert kept.used_at is not None


def test_a_word_answered_for_one_file_is_known_two_files_later(fleet, bosun, kept):
    rows = sheet("by part")[:2]
    rows[1][1] = "V1"
    page = hand_in(bosun, fleet, book.xlsx(rows))
    use(bosun, fleet, page, t0__word__stay__0="main/cap_shroud/")
    use(bosun, fleet, hand_in(bosun, fleet, book.xlsx(sheet("by part"))))
    page = hand_in(bosun, fleet, book.xlsx(rows))
    assert "This sheet can be read" in text_of(page)


def test_a_match_forgotten_before_its_file_was_written_stops_the_writing(fleet, bosun, kept):
    page = use(bosun, fleet, hand_in(bosun, fleet, book.xlsx(sheet("by part"))))
    token, match = (re.search(rf'name="{name}" value="([\w-]+)"', text_of(page))[1]
                    for name in ("file", "match"))  # fmt: skip
    kept.delete()
    page = bosun.post(at("import_check", fleet), {"file": token, "match": match, "take": "all"},
                      follow=True)  # fmt: skip
    assert page.redirect_chain[-1][0].startswith(at("import_match", fleet))
    assert not Installation.objects.exists()


# -- the pages


def test_the_list_says_what_each_match_reads_who_made_it_and_when_it_was_used(fleet, bosun, kept):
    page = text_of(bosun.get(at("kept_matches", fleet)))
    for words in (
        "Rigging book",
        "Rigging as parts, 13 columns",
        "never written",
        "bosun-of-harbour",
    ):
        assert words in page
    assert "1 kept match<" in text_of(bosun.get(at("import", fleet)))


def test_one_match_is_told_column_by_column_and_word_by_word(fleet, bosun, kept):
    page = text_of(bosun.get(one(fleet, "kept_match", kept)))
    for words in (
        "Rigging is read as parts", "Vessel", "diameter mm (bare numbers are millimetres)",
        "“cone” under lower terminal: mechanical.", "Decimals follow a point.",
        "In dates in figures the day comes first.", "“rigging screw” under part: turnbuckle.",
    ):  # fmt: skip
        assert words in page, words


def test_a_stays_own_column_is_told_with_its_stay(fleet, bosun):
    use(bosun, fleet, hand_in(bosun, fleet, book.xlsx(book.BY_SHROUD)), t0__to__6="-")
    page = text_of(bosun.get(one(fleet, "kept_match", SheetMatch.objects.get())))
    assert "diameter mm of the cap shroud, port (bare numbers are millimetres)" in page
    assert "Remarks" not in page


def test_an_answer_is_told_in_words_and_never_as_a_code():
    assert match_words.meaning("parts", "lower terminal", "t_ball") == "T- or ball-end"
    assert match_words.meaning("parts", "removal reason", "failed_in_service") == (
        "failed in service"
    )
    assert match_words.meaning("parts", "stay", "main/cap_shroud/port/turnbuckle") == (
        "cap shroud, port: turnbuckle"
    )
    assert match_words.meaning("parts", "stay", "-") == "nothing, the cell is left empty"
    assert match_words.meaning("no such sheet", "stay", "") == "still to be said"


def test_a_match_is_renamed_and_a_blank_name_is_refused_with_nothing_lost(fleet, bosun, kept):
    url = one(fleet, "kept_match", kept)
    assert "called “Yard book” now" in text_of(
        bosun.post(url, {"name": " Yard  book"}, follow=True)
    )
    assert "Not renamed" in text_of(bosun.post(url, {"name": "  "}))
    kept.refresh_from_db()
    assert kept.name == "Yard book"


def test_deleting_a_match_asks_first_and_changes_nothing_imported(fleet, bosun, kept):
    write(bosun, fleet, use(bosun, fleet, hand_in(bosun, fleet, book.xlsx(sheet("by part")))))
    before, url = parts(fleet), one(fleet, "kept_match_delete", kept)
    assert "Delete the match “Rigging book”?" in text_of(bosun.get(url))
    assert SheetMatch.objects.exists()
    assert "is forgotten" in text_of(bosun.post(url, follow=True))
    assert not SheetMatch.objects.exists()
    assert parts(fleet) == before


@pytest.mark.parametrize(
    ("role", "rename", "delete"), [("manager", 302, 302), ("bosun", 302, 403),
                                   ("accountant", 403, 403)],
)  # fmt: skip
def test_who_may_rename_and_delete_a_match_somebody_else_made(fleet, kept, role, rename, delete):
    kept.made_by = None
    kept.save()
    client = Client()
    client.force_login(
        builders.person("somebody", fleet, role), settings.AUTHENTICATION_BACKENDS[0]
    )
    assert client.get(at("kept_matches", fleet)).status_code == 200
    assert client.post(one(fleet, "kept_match", kept), {"name": "x"}).status_code == rename
    assert client.post(one(fleet, "kept_match_delete", kept)).status_code == delete


def test_an_empty_list_says_how_a_match_is_made(fleet, bosun):
    page = text_of(bosun.get(at("kept_matches", fleet)))
    assert "No sheet of your own is known yet" in page
    assert "Hand in a sheet" in page


@pytest.mark.parametrize("width", [390, 1280])
def test_kept_matches_fit_the_screen_and_shut_nobody_out(
    page_at, accessibility_faults, live_server, kept, fleet, width
):
    page = page_at(width, user=builders.person("mara", fleet))
    page.goto(at("import", fleet))
    page.get_by_role("link", name="1 kept match").click()
    faults = accessibility_faults(page) + too_wide(page) + too_small(page)
    page.get_by_role("link", name="Rigging book").click()
    faults += accessibility_faults(page) + too_wide(page) + too_small(page)
    page.get_by_role("link", name="Delete this match").click()
    faults += accessibility_faults(page) + too_wide(page) + too_small(page)
    assert faults == []
    page.get_by_role("button", name="Delete it").click()
    page.get_by_text("is forgotten").wait_for()
