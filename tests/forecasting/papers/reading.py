"""Papers and workbooks read back by other libraries than those that wrote them."""

import io
import re
import zipfile
from xml.etree import ElementTree

from pypdf import PdfReader
from python_calamine import CalamineWorkbook

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
RANGE = r"(?:'([^']+)'!)?(\$?[A-Z]+)(\d+):(\$?[A-Z]+)(\d+)"
SUM = re.compile(rf"SUM\({RANGE}\)")
MATCHING = re.compile(rf"SUM\(SUMPRODUCT\(EXACT\({RANGE},\$?([A-Z]+)(\d+)\)\*{RANGE}\)\)")


def reader(content: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(content))


def text_of(content: bytes) -> str:
    """Return the words of a PDF, one blank between them, without the breaks that may be taken."""
    words = " ".join(page.extract_text() for page in reader(content).pages)
    return re.sub(r"\s+", " ", words.replace("\u200b", ""))


def dense(content: bytes | str) -> str:
    """Return the text without blanks: where a line broke does not matter."""
    text = text_of(content) if isinstance(content, bytes) else content
    return re.sub(r"\s+", "", text)


def column_number(letters: str) -> int:
    number = 0
    for letter in letters.strip("$"):
        number = number * 26 + ord(letter) - ord("A") + 1
    return number - 1


class Sheets:
    """A workbook: the values another program sees, and the formulas behind them."""

    def __init__(self, content: bytes):
        self.archive = zipfile.ZipFile(io.BytesIO(content))
        book = CalamineWorkbook.from_filelike(io.BytesIO(content))
        self.names = book.sheet_names
        self.rows = {
            name: book.get_sheet_by_name(name).to_python(skip_empty_area=False)
            for name in self.names
        }

    def tree(self, name: str) -> ElementTree.Element:
        number = self.names.index(name) + 1
        return ElementTree.fromstring(self.archive.read(f"xl/worksheets/sheet{number}.xml"))

    def formulas(self, name: str) -> dict[tuple[int, int], str]:
        """Return (row, column) -> formula, 0-based."""
        found = {}
        for cell in self.tree(name).iter(f"{MAIN}c"):
            formula = cell.find(f"{MAIN}f")
            if formula is not None:
                letters, digits = re.match(r"([A-Z]+)(\d+)", cell.get("r")).groups()
                found[int(digits) - 1, column_number(letters)] = formula.text
        return found

    def frozen(self, name: str) -> bool:
        pane = self.tree(name).find(f".//{MAIN}pane")
        return pane is not None and pane.get("state") == "frozen" and pane.get("ySplit") == "1"

    def block(self, here: str, found: tuple[str, ...]) -> list:
        sheet, left, top, right, bottom = found
        columns = range(column_number(left), column_number(right) + 1)
        rows = self.rows[sheet or here][int(top) - 1 : int(bottom)]
        return [row[column] for row in rows for column in columns]

    def computed(self, name: str, formula: str) -> float:
        """Return what a spreadsheet program would; the two shapes of formula we write, no other."""
        if match := MATCHING.fullmatch(formula):
            parts = match.groups()
            names, values = self.block(name, parts[:5]), self.block(name, parts[7:])
            wanted = self.rows[name][int(parts[6]) - 1][column_number(parts[5])]
            pairs = zip(names, values, strict=True)
            return sum(value for each, value in pairs if each == wanted)
        match = SUM.fullmatch(formula)
        assert match, formula
        return sum(value or 0 for value in self.block(name, match.groups()))
