"""A look into an XLSX file before it is opened: its true size, its error cells, its epoch.

The reader lays a sheet out as a full rectangle, so one stray cell far down and right would take
gigabytes; it also shows a formula's error as an empty cell. Both are found here, in the XML.
"""

import datetime as dt
import io
import re
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from xml.etree import ElementTree

from ..sheets.faults import EPOCH

MOST_UNPACKED = 300 * 1024 * 1024
MOST_CELLS = 8_000_000
CHUNK = 1 << 20
OVERLAP = 1 << 12

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
LINK = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
CELL = re.compile(rb'<(?:\w+:)?c\b[^>]*?\br="([A-Z]{1,3})([0-9]{1,7})"([^>]*)>')
ERROR_WORD = re.compile(rb"<(?:\w+:)?v>(#[^<]{1,12})</")


class Oversized(ValueError):
    """The file would take too much room. ``wrong`` and ``right`` are sentences."""

    def __init__(self, wrong: str, right: str, sheet: str = "") -> None:
        super().__init__(wrong)
        self.wrong, self.right, self.sheet = wrong, right, sheet


@dataclass
class Contents:
    """What the look found: error cells by sheet (cell name to error word), and day 0."""

    errors: dict[str, dict[str, str]] = field(default_factory=dict)
    epoch: dt.date = EPOCH


def look_into(content: bytes, most_rows: int) -> Contents:
    """Return the contents of a workbook; Oversized or zipfile.BadZipFile when it is no good one."""
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        if "xl/workbook.xml" not in packed.namelist():
            raise zipfile.BadZipFile("The file holds no workbook.")
        left = MOST_UNPACKED
        for member in packed.infolist():
            left -= sum(len(chunk) for chunk in unpacked(content, member, left))
        contents = Contents(epoch=epoch_of(packed))
        for title, member in sheet_members(packed):
            found = errors_in(content, packed.getinfo(member), title, most_rows)
            if found:
                contents.errors[title] = found
    return contents


def unpacked(content: bytes, member: zipfile.ZipInfo, most: int) -> Iterator[bytes]:
    """Yield a member's bytes, whatever length its header claims, up to ``most``."""
    start = member.header_offset
    lengths = content[start + 26 : start + 30]
    start += 30 + int.from_bytes(lengths[:2], "little") + int.from_bytes(lengths[2:], "little")
    packed = content[start : start + member.compress_size]
    if member.compress_type == zipfile.ZIP_STORED:
        yield packed
        return
    if member.compress_type != zipfile.ZIP_DEFLATED:
        raise zipfile.BadZipFile("The file is packed in an unusual way.")
    inflate = zlib.decompressobj(-15)
    while packed and not inflate.eof:
        chunk = inflate.decompress(packed, CHUNK)
        packed = inflate.unconsumed_tail
        most -= len(chunk)
        if most < 0:
            raise Oversized(
                "Unpacked, the file is larger than 300 MB.", "Delete sheets and formats not needed."
            )
        yield chunk


def epoch_of(packed: zipfile.ZipFile) -> dt.date:
    old_calendar = re.search(rb'date1904="(1|true)"', packed.read("xl/workbook.xml"))
    return dt.date(1904, 1, 1) if old_calendar else EPOCH


def sheet_members(packed: zipfile.ZipFile) -> Iterator[tuple[str, str]]:
    """Yield the title of each sheet and the member of the file that holds it."""
    if "xl/_rels/workbook.xml.rels" not in packed.namelist():
        return
    links = safe_tree(packed.read("xl/_rels/workbook.xml.rels"))
    targets = {link.get("Id"): link.get("Target", "") for link in links}
    for sheet in safe_tree(packed.read("xl/workbook.xml")).iter(f"{MAIN}sheet"):
        target = targets.get(sheet.get(LINK), "")
        member = target.lstrip("/") if target.startswith("/") else f"xl/{target}"
        if member in packed.namelist():
            yield sheet.get("name", ""), member


def safe_tree(xml: bytes) -> ElementTree.Element:
    """Parse without document types: entities that multiply are not for spreadsheets."""
    if b"<!DOCTYPE" in xml or b"<!ENTITY" in xml:
        raise zipfile.BadZipFile("The file declares entities.")
    try:
        return ElementTree.fromstring(xml)
    except ElementTree.ParseError as trouble:
        raise zipfile.BadZipFile("The file is damaged.") from trouble


def errors_in(
    content: bytes, member: zipfile.ZipInfo, title: str, most_rows: int
) -> dict[str, str]:
    """Return the error cells of a sheet; Oversized when it spreads too far."""
    errors: dict[str, str] = {}
    rows, widths, tail = 0, {0}, b""
    for chunk in unpacked(content, member, MOST_UNPACKED):
        text = tail + chunk
        for found in CELL.finditer(text):
            rows = max(rows, int(found[2]))
            widths.add(width_of(found[1]))
            if b't="e"' in found[0]:
                word = ERROR_WORD.search(text, found.end(), found.end() + OVERLAP)
                errors[(found[1] + found[2]).decode()] = word[1].decode() if word else "#ERROR"
        tail = text[-OVERLAP:]
        check_spread(title, rows, max(widths), most_rows)
    return errors


def width_of(letters: bytes) -> int:
    width = 0
    for letter in letters:
        width = width * 26 + letter - 64
    return width


def check_spread(title: str, rows: int, columns: int, most_rows: int) -> None:
    if rows > most_rows:
        raise Oversized(
            f"The sheet reaches down to row {rows:,}.",
            f"Delete the rows that are not needed; {most_rows:,} are read.",
            title,
        )
    if rows * columns > MOST_CELLS:
        raise Oversized(
            f"The sheet reaches to row {rows:,} and column {columns:,}.",
            "A stray cell is far out: select the rows and columns beyond the table, delete them, "
            "and save.",
            title,
        )
