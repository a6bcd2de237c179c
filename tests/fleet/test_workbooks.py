"""Opening files: what is no workbook, too large, damaged or stray is said, never raised."""

import csv
import io
import struct
import zipfile
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.spreadsheets import packed as zip_file
from fleet.spreadsheets.csv_files import guard, unguard, write_csv
from fleet.spreadsheets.workbooks import MOST_BYTES, NamedFile, open_book
from tests.workbooks import xlsx

NAMES = ["boats", "parts"]
BOATS = {"boats": [["boat", "length m"], ["Tern", 11.6]]}


def opened(content: bytes, name: str = "fleet.xlsx"):
    return open_book([NamedFile(name, content)], NAMES)


def the_fault(book) -> str:
    assert not book.sheets
    assert len(book.faults) == 1
    return book.faults[0].wrong


@pytest.mark.parametrize(
    ("content", "wrong"),
    [
        (b"", "empty"),
        (b"boat,length\nTern,11.6\n", "not a workbook"),
        (b"PK\x03\x04 torn off", "not a workbook"),
        (
            b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600),
            "old .xls kind, or one under a password",
        ),
        (b"%PDF-1.7", "not a workbook"),
    ],
)
def test_what_is_no_workbook_is_told_so(content, wrong):
    assert wrong in the_fault(opened(content))


def test_a_zip_of_anything_else_is_no_workbook():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("boats.txt", "Tern")
    assert "not a workbook" in the_fault(opened(out.getvalue()))


@pytest.mark.parametrize("cut", [200, 2000, -40])
def test_a_workbook_cut_off_in_transit_is_told_so(cut):
    assert "not a workbook" in the_fault(opened(xlsx(BOATS)[0].content[:cut]))


def test_a_file_over_20_mb_is_not_opened():
    assert "larger than 20 MB" in the_fault(opened(bytes(MOST_BYTES + 1)))


def test_a_file_that_unpacks_beyond_all_measure_is_not_opened(monkeypatch):
    monkeypatch.setattr(zip_file, "MOST_UNPACKED", 2_000)
    assert "Unpacked" in the_fault(opened(xlsx(BOATS)[0].content))


def test_a_packed_size_that_lies_is_found_out():
    """The header of the list of sheets claims ten bytes; what comes out decides."""
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    packed = packer.compress(bytes(5_000_000)) + packer.flush()
    info = zipfile.ZipInfo("xl/workbook.xml")
    info.compress_type, info.compress_size, info.file_size = zipfile.ZIP_DEFLATED, len(packed), 10
    name = info.filename.encode()
    local = struct.pack(
        "<4s5H3L2H", b"PK\x03\x04", 20, 0, 8, 0, 0, 0, len(packed), 10, len(name), 0
    )
    central = struct.pack("<4s6H3L5H2L", b"PK\x01\x02", 20, 20, 0, 8, 0, 0, 0, len(packed), 10,
                          len(name), 0, 0, 0, 0, 0, 0)  # fmt: skip
    body = local + name + packed
    end = struct.pack("<4s4H2LH", b"PK\x05\x06", 0, 0, 1, 1, len(central + name), len(body), 0)
    assert "list of sheets" in the_fault(opened(body + central + name + end))


def test_a_stray_cell_far_out_is_refused_before_it_takes_the_memory():
    def stray(book):
        book.worksheets()[0].write(199_999, 700, "x")

    book = opened(xlsx(BOATS, stray)[0].content)
    assert "row 200,000 and column 701" in book.faults[0].wrong
    assert book.faults[0].sheet == "boats"


def test_more_rows_than_are_read_is_said(monkeypatch):
    monkeypatch.setattr("fleet.spreadsheets.workbooks.MOST_ROWS", 3)
    rows = [["boat"], *([["Tern"]] * 3)]
    assert "row 4" in the_fault(opened(xlsx({"boats": rows})[0].content))
    assert "more than 3 rows" in the_csv_fault(write_csv(rows).encode())


def test_formula_errors_and_merged_cells_are_seen():
    def spoil(book):
        page = book.worksheets()[0]
        page.write_formula(1, 1, "=NA()", None, "#N/A")
        page.merge_range(2, 0, 4, 0, "Skua")

    sheet = opened(xlsx(BOATS, spoil)[0].content).sheets["boats"]
    assert sheet.errors == {(1, 1): "#N/A"}
    assert sheet.merged == (((2, 0), (4, 0)),)


def test_the_calendar_of_an_old_workbook_is_seen():
    def old(book):
        book.epoch = book.date_1904 = True

    sheet = opened(xlsx(BOATS, old)[0].content).sheets["boats"]
    assert sheet.epoch.year == 1904


def test_sheets_that_nobody_reads_are_named():
    book = opened(xlsx({**BOATS, "my sums": [[1]]})[0].content)
    assert book.unused == ("my sums",)


def test_a_sheet_name_in_capitals_is_the_same_sheet():
    assert "boats" in opened(xlsx({"Boats": [["boat"], ["Tern"]]})[0].content).sheets


# -- CSV


def csv_sheet(content: bytes):
    book = opened(content, "boats.csv")
    assert not book.faults
    return book.sheets["boats"].rows


def the_csv_fault(content: bytes) -> str:
    return opened(content, "boats.csv").faults[0].wrong


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_cells_are_told_apart_by_comma_semicolon_or_tab(separator):
    content = f"boat{separator}length m\r\nTern{separator}11.6\r\n".encode("utf-8-sig")
    assert csv_sheet(content) == [["boat", "length m"], ["Tern", "11.6"]]


def test_names_in_other_scripts_survive_csv():
    assert csv_sheet("boat\n海燕\nЧайка\n".encode())[1:] == [["海燕"], ["Чайка"]]


def test_csv_in_another_encoding_is_refused_with_its_row():
    fault = opened("boat\nSlé\n".encode("latin-1"), "boats.csv").faults[0]
    assert fault.row == 2
    assert "Save it as “CSV UTF-8”" in fault.right
    assert "as Windows-1252, if these are right: “Slé”" in fault.right


def test_a_quotation_mark_left_open_is_named():
    content = b'boat\n"' + b"x" * 200_000
    assert "quotation mark" in the_csv_fault(content)


def test_a_csv_file_by_an_unknown_name_is_answered_with_the_nearest():
    fault = opened(b"boat\n", "boat.csv").faults[0]
    assert "“boats”" in fault.right


def test_a_workbook_and_csv_together_are_one_too_many():
    files = [*xlsx(BOATS), NamedFile("boats.csv", b"boat\n")]
    assert "not all are CSV" in open_book(files, NAMES).faults[0].wrong


def test_an_empty_folder_holds_no_file(tmp_path):
    assert "no CSV file" in open_book(tmp_path, NAMES).faults[0].wrong


@pytest.mark.parametrize("text", ["=1+1", "+46", "-3", "@base", "'=x", "\tx", "''-"])
def test_what_a_spreadsheet_would_compute_is_guarded_in_csv(text):
    assert guard(text) == f"'{text}"


@pytest.mark.parametrize("cell", ["'t Veer", "Tern", "", 'say "=1"', -3, None])
def test_what_it_would_not_compute_is_left_alone(cell):
    assert guard(cell) == cell


@given(st.text())
def test_the_guard_comes_off_again(text):
    assert unguard(guard(text)) == text
    if guard(text)[:1] in ("=", "+", "-", "@", "\t", "\r"):
        raise AssertionError(text)


@given(st.lists(st.text(st.characters(exclude_categories=["Cs"])), min_size=1))
def test_csv_is_read_by_any_reader_of_rfc_4180_as_it_was_written(cells):
    """Python's own csv module as the other reader, in its default dialect."""
    back = next(csv.reader(io.StringIO(write_csv([cells]), newline="")))
    assert [unguard(cell) for cell in back] == cells


@given(st.binary(max_size=400))
def test_no_bytes_break_the_opening(content):
    for name in ("boats.csv", "fleet.xlsx"):
        book = opened(content, name)
        assert book.faults or book.sheets
