"""A look into an XLSX file before it is opened: its true size, its error cells, its epoch."""

import datetime as dt
import re
import zipfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from xml.etree import ElementTree

from ..sheets.faults import EPOCH
from . import packed
from .packed import Refused, members_of, unpacked
from .xml_walk import Damaged, Walk, declares_entities

MOST_CELLS = 5_000_000  # Of all sheets together; empty ones within a sheet count.
MOST_TEXT = 64_000_000  # Characters, a text counted once for each cell that shows it.
MOST_OF_A_LIST = 2 * 1024 * 1024  # Bytes of the lists of sheets, which are read whole.

WORKBOOK, LINKS = "xl/workbook.xml", "xl/_rels/workbook.xml.rels"
MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
LINK = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
CELLS_BEGIN = (b"sheetData", b"<sst", b":sst")
DRAWING = ".vml"  # Old drawings, which spreadsheet programs write in XML that is not quite.


@dataclass
class Contents:
    """What the look found: error cells by sheet (place from 0 to error word), and day 0."""

    errors: dict[str, dict[tuple[int, int], str]] = field(default_factory=dict)
    epoch: dt.date = EPOCH


def look_into(content: bytes, most_rows: int) -> Contents:
    """Return the contents of a workbook.

    Raises Refused, or zipfile.BadZipFile or Damaged when it is no workbook or a broken one.
    """
    members = members_of(content)
    if WORKBOOK not in members:
        raise zipfile.BadZipFile("The file holds no workbook.")
    titles = {}
    if LINKS in members:
        titles = dict(titles_of(*(read_list(content, members[name]) for name in (LINKS, WORKBOOK))))
    contents = Contents(epoch=epoch_of(read_list(content, members[WORKBOOK])))
    room = Room()
    for name, member in members.items():
        walk = walked(content, member, room, most_rows, titles.get(name, ""))
        if walk and walk.errors and name in titles:
            contents.errors[titles[name]] = walk.errors
    room.check_text()
    return contents


@dataclass
class Room:
    """What is left for the members not looked at yet, and what text the cells show."""

    unpacked: int = field(default_factory=lambda: packed.MOST_UNPACKED)
    cells: int = field(default_factory=lambda: MOST_CELLS)
    text: int = 0
    strings: list[int] = field(default_factory=list)
    shared: Counter = field(default_factory=Counter)

    def taken(self, chunks: Iterator[bytes]) -> Iterator[bytes]:
        for chunk in chunks:
            self.unpacked -= len(chunk)
            yield chunk

    def take(self, walk: Walk) -> None:
        self.cells -= max(walk.rows * walk.columns, walk.cells)
        self.text += walk.text
        self.shared.update(walk.shared)
        self.strings = max(self.strings, walk.strings, key=len)

    def check_text(self) -> None:
        lengths = self.strings
        shown = sum(lengths[n] * times for n, times in self.shared.items() if n < len(lengths))
        if self.text + sum(lengths) + shown > MOST_TEXT:
            raise Refused(
                f"The cells hold more than {MOST_TEXT // 1_000_000} million characters of text.",
                "Shorten the long notes, or split the file by years or by boats.",
            )


def walked(
    content: bytes, member: zipfile.ZipInfo, room: Room, most_rows: int, title: str
) -> Walk | None:
    """Return what a member comes to; None for what is no XML."""
    chunks = room.taken(unpacked(content, member, room.unpacked))
    first = next(chunks, b"")
    drawing = member.filename.casefold().endswith(DRAWING)
    if drawing or not first.lstrip(b"\xef\xbb\xbf\xff\xfe\0 \t\r\n").startswith(b"<"):
        _through_unread(first, chunks, drawing)
        return None
    walk = Walk(most_rows, room.cells, title).through(_again(first, chunks))
    room.take(walk)
    return walk


def _through_unread(first: bytes, rest: Iterator[bytes], drawing: bool) -> None:
    """Count the bytes of what is not walked; no reader shall find cells in a drawing."""
    tail = b""
    for chunk in _again(first, rest):
        if drawing and any(word in tail + chunk for word in CELLS_BEGIN):
            raise Damaged("A drawing holds cells.")
        tail = chunk[-16:]


def _again(first: bytes, rest: Iterator[bytes]) -> Iterator[bytes]:
    yield first
    yield from rest


def read_list(content: bytes, member: zipfile.ZipInfo) -> bytes:
    """Return one of the small members that list the sheets; Refused when it is no small one."""
    xml = bytearray()
    for chunk in unpacked(content, member):
        xml += chunk
        if len(xml) > MOST_OF_A_LIST:
            raise Refused(
                "The list of sheets in the file is larger than any real one.",
                "Copy the sheets that are needed into a new workbook.",
            )
    return bytes(xml)


def epoch_of(workbook: bytes) -> dt.date:
    old_calendar = re.search(rb'date1904="(1|true)"', workbook)
    return dt.date(1904, 1, 1) if old_calendar else EPOCH


def titles_of(links: bytes, workbook: bytes) -> Iterator[tuple[str, str]]:
    """Yield the member of each sheet, by folded name, and the title of the sheet."""
    targets = {link.get("Id"): link.get("Target", "") for link in tree_of(links)}
    for sheet in tree_of(workbook).iter(f"{MAIN}sheet"):
        target = targets.get(sheet.get(LINK), "").casefold()
        member = target.lstrip("/") if target.startswith(("/", "xl/")) else f"xl/{target}"
        yield member, sheet.get("name", "")


class NoEntities(ElementTree.TreeBuilder):
    """Builds no tree of a document with a document type."""

    def doctype(self, *_: object) -> None:
        raise declares_entities()


def tree_of(xml: bytes) -> ElementTree.Element:
    try:
        return ElementTree.fromstring(xml, ElementTree.XMLParser(target=NoEntities()))
    except ElementTree.ParseError as trouble:
        raise Damaged("The file is damaged.") from trouble
