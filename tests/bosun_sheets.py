"""Five sheets as five bosuns might keep them. Everybody and everything in them is invented."""

import datetime as dt
import io
from collections.abc import Sequence

from xlsxwriter import Workbook

from fleet.spreadsheets.csv_files import write_csv
from fleet.spreadsheets.workbooks import NamedFile

D = dt.date
Rows = list[list]

# One row a boat, a column for each shroud, years in a column of their own.
BY_SHROUD: Rows = [
    ["Rigging book, Hollow Quay", None, None, None, None, None, None],
    ["Yacht", "Forestay (mm)", "Backstay (mm)", "Caps P (mm)", "Caps S (mm)", "Rig renewed",
     "Remarks"],
    ["Tern", 10, 8, 8, 8, 2016, "sail on in photo"],
    ["Skua", "10", "8 mm", 8, None, 2019, None],
]  # fmt: skip

# One row a part, dates in figures with the day first, words of his own.
BY_PART: Rows = [
    ["Vessel", "Shroud", "Hand", "Component", "Lay", "Dia mm", "Length mm", "Bottom end",
     "Date fitted", "Furler", "Bill no", "Off", "Why off"],
    ["Tern", "Cap", "P", "stay", "1 x 19", 8, "13,250", "swage", "14/03/2016", "n", "R-1", None,
     None],
    ["Tern", "Cap", "S", "stay", "1 x 19", 8, "13,250", "cone", "03/04/2016", "n", "R-1", None,
     None],
    ["Tern", "Headstay", None, "stay", "1 x 19", 10, "14,000", "swage", "03/04/2008", "y", "Q-9",
     "01/02/2016", "broke"],
    ["Skua", "Fwd lower", "P", "rigging screw", None, 12, None, None, "?", None, None, None, None],
]  # fmt: skip

# Dates in words; the boat's name only on the first of its rows.
FREE_TEXT: Rows = [
    ["Boat", "Stay", "Size", "When fitted", "Fitted by"],
    ["Tern", "Headstay", "10mm", "March 2016", "Example Rigging"],
    [None, "stbd cap shroud", "8mm", "c. 2015", None],
    [None, "port cap shroud", "8mm", "new 2019", None],
    ["Skua", "Runners", "6 mm", "14th May 2018", "Own crew"],
    [None, "Backstay", "8mm", "unknown", None],
]

# Wire by the inch.
IMPERIAL: Rows = [
    ["Boat", "Stay", "Side", "Wire size", "Length", "Pin (in)", "Fitted"],
    ["Tern", "cap shroud", "port", "5/32", "42' 6\"", "5/16", D(2018, 5, 2)],
    ["Tern", "cap shroud", "starboard", "3/16 in", "42 ft 6 in", 0.375, D(2018, 5, 2)],
    ["Tern", "forestay", None, '9/32"', "510 in", "1/2", D(2018, 5, 2)],
    ["Skua", "cap shroud", "both", "5/16 in", "41'", "5/8", D(2019, 6, 3)],
]

# Two rows of headers: the stay above, what is said of it below.
TWO_HEADERS: Rows = [
    [None, "Cap shrouds", None, "Fwd lowers", None, "Forestay", None],
    ["Boat", "size mm", "fitted", "size mm", "fitted", "size mm", "fitted"],
    ["Tern", 8, D(2016, 3, 1), 7, D(2016, 3, 1), 10, 2008],
    ["Skua", "8,5", D(2019, 4, 2), None, None, "-", "-"],
]

ALL = {
    "by shroud": BY_SHROUD,
    "by part": BY_PART,
    "free text": FREE_TEXT,
    "imperial": IMPERIAL,
    "two headers": TWO_HEADERS,
}


def xlsx(
    rows: Rows, title: str = "Rigging", merged: Sequence[tuple[str, str]] = ()
) -> list[NamedFile]:
    """Write rows as a workbook of one sheet; ``merged`` are areas whose first cell holds."""
    out = io.BytesIO()
    with Workbook(out, {"in_memory": True, "strings_to_numbers": False}) as book:
        page, day = book.add_worksheet(title), book.add_format({"num_format": "yyyy-mm-dd"})
        for number, row in enumerate(rows):
            for place, cell in enumerate(row):
                if isinstance(cell, dt.date):
                    page.write_datetime(number, place, cell, day)
                elif cell is not None:
                    page.write(number, place, cell)
        for area, text in merged:
            page.merge_range(area, text)
    return [NamedFile("rigging-book.xlsx", out.getvalue())]


def csv(rows: Rows, name: str = "rigging book.csv") -> list[NamedFile]:
    return [NamedFile(name, write_csv(rows).encode())]
