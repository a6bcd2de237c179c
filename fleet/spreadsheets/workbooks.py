"""Opening what was handed in: one XLSX workbook, or CSV files named like the sheets."""

import io
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from python_calamine import CalamineError, CalamineWorkbook

from ..sheets import Fault, RawSheet, folded
from ..sheets.faults import nearest
from .csv_files import read_csv
from .files import MOST_BYTES, NamedFile, files_at
from .packed import Refused
from .xlsx_contents import Contents, look_into

MOST_ROWS = 200_000

UNOPENED = (CalamineError, zipfile.BadZipFile, NotImplementedError, ValueError, OSError)
PANIC = "pyo3_runtime"  # Where the reader's last resort comes from; no Exception, so not to import.
WORKBOOKS = (b"PK\x03\x04", b"PK\x05\x06", b"\xd0\xcf\x11\xe0")
OLD_OR_LOCKED = b"\xd0\xcf\x11\xe0"  # The container of .xls, and of XLSX under a password.
NOT_A_WORKBOOK = (
    "Save it as XLSX in the spreadsheet program, or as CSV files named like the sheets."
)


@dataclass(frozen=True)
class Book:
    """The sheets of a file by name; ``unused`` are sheets that no program here reads.

    ``files``: what the files were called, where the sheets were not opened here.
    """

    sheets: dict[str, RawSheet] = field(default_factory=dict)
    unused: tuple[str, ...] = ()
    faults: tuple[Fault, ...] = ()
    files: tuple[str, ...] = ()


Source = Path | str | Sequence[NamedFile] | Book


def fault_of_file(wrong: str, right: str, sheet: str = "") -> Book:
    return Book(faults=(Fault(sheet, 0, "", "", wrong, right),))


def open_book(source: Source, names: Iterable[str] | None) -> Book:
    """Return the sheets called ``names``; what cannot be opened is in ``faults``, never raised.

    With None as ``names`` every sheet is returned under its own title.
    """
    if isinstance(source, Book):
        return source
    try:
        files = files_at(Path(source)) if isinstance(source, (str, Path)) else list(source)
    except Refused as trouble:
        return fault_of_file(trouble.wrong, trouble.right)
    if not files:
        return fault_of_file("There is no file, or no CSV file in the folder.", NOT_A_WORKBOOK)
    if sum(len(file.content) for file in files) > MOST_BYTES:
        return fault_of_file("The file is larger than 20 MB.", "Split it by years or by boats.")
    names = None if names is None else list(names)
    if all(file.name.casefold().endswith(".csv") for file in files):
        return csv_book(files, names or [Path(file.name).stem for file in files])
    if len(files) > 1:
        return fault_of_file(
            "These are several files, and not all are CSV.",
            "Hand in one XLSX workbook, or CSV files alone.",
        )
    return xlsx_book(files[0], names)


def csv_book(files: list[NamedFile], names: list[str]) -> Book:
    sheets, faults, known = {}, [], {folded(name): name for name in names}
    for file in files:
        stem = Path(file.name).stem
        name = known.get(folded(stem))
        if file.content.startswith(WORKBOOKS):
            wrong = "This is a workbook, or another packed file, though its name ends on .csv."
            right = "Hand in the workbook itself, or save its sheets as “CSV UTF-8”."
            faults.append(Fault("", 0, "", file.name, wrong, right))
        elif name is None:
            hint = nearest(stem, names) or f"The names are {', '.join(names)}."
            right = f"Rename the file. {hint}"
            faults.append(Fault("", 0, "", file.name, "No sheet is called so.", right))
        elif name in sheets:
            faults.append(Fault(name, 0, "", file.name, "This sheet is there twice.", "Keep one."))
        else:
            sheets[name], wrong = read_csv(name, file.content, MOST_ROWS)
            faults += wrong
    return Book(sheets, faults=tuple(faults))


def xlsx_book(file: NamedFile, names: list[str] | None) -> Book:
    if not file.content:
        return fault_of_file("The file is empty.", NOT_A_WORKBOOK)
    if file.content.startswith(OLD_OR_LOCKED):
        return fault_of_file(
            "This is a workbook of the old .xls kind, or one under a password.",
            "Save it as XLSX without a password.",
        )
    try:
        contents = look_into(file.content, MOST_ROWS)
        with CalamineWorkbook.from_object(io.BytesIO(file.content)) as workbook:
            return sheets_of(workbook, contents, names)
    except Refused as trouble:
        return fault_of_file(trouble.wrong, trouble.right, trouble.sheet)
    except UNOPENED:
        return fault_of_file("This is not a workbook that can be opened.", NOT_A_WORKBOOK)
    except BaseException as trouble:
        if type(trouble).__module__ != PANIC:
            raise
        return fault_of_file("This workbook is damaged inside.", NOT_A_WORKBOOK)


def sheets_of(workbook: CalamineWorkbook, contents: Contents, names: list[str] | None) -> Book:
    known = {folded(name): name for name in (workbook.sheet_names if names is None else names)}
    sheets, unused, faults = {}, [], []
    for title in workbook.sheet_names:
        name = known.get(folded(title))
        if name is None:
            unused.append(title)
        elif name in sheets:
            faults.append(Fault(name, 0, "", title, "This sheet is there twice.", "Keep one."))
        else:
            sheets[name] = raw_sheet(workbook, title, name, contents)
    return Book(sheets, tuple(unused), tuple(faults))


def raw_sheet(workbook: CalamineWorkbook, title: str, name: str, contents: Contents) -> RawSheet:
    sheet = workbook.get_sheet_by_name(title)
    return RawSheet(
        name,
        sheet.to_python(skip_empty_area=False),
        tuple(sheet.merged_cell_ranges or ()),
        contents.errors.get(title, {}),
        contents.epoch,
    )
