"""Whatever stands in a sheet: nothing crashes, nothing is lost without a word."""

import datetime as dt

from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.matching import Match, apply, fingerprint, propose, questions
from fleet.sheets import RawSheet, read_sheet
from inspections.spreadsheets.matched_files import LAYOUTS
from tests.bosun_sheets import ALL

TODAY = dt.date(2026, 10, 14)
WORDS = [
    "Boat", "Stay", "Size", "Caps P", "Lowers", "fitted", "Side", "Length", "5/32", "8", "8,5",
    "1,250", "03/04/2021", "March 2019", "c. 2015", "-", "?", "Tern", "cap shroud", "p", "½", "0/0",
    "1/0 in", "miles", "season", "99/99/9999", "'", '"', "29/02/2021", "Year", "²", "١٢",
]  # fmt: skip
CELL = st.one_of(
    st.none(), st.sampled_from(WORDS), st.text(max_size=8), st.booleans(),
    st.floats(), st.integers(-(10**30), 10**30),
    st.dates(), st.datetimes(), st.times(), st.timedeltas(),
)  # fmt: skip
GRID = st.lists(st.lists(CELL, max_size=6), max_size=7)
AREA = st.tuples(st.integers(0, 8), st.integers(0, 7))


@given(st.lists(GRID, min_size=1, max_size=2), st.lists(st.tuples(AREA, AREA), max_size=2))
@settings(max_examples=60, deadline=None)
def test_no_sheet_however_odd_stops_the_matching(grids, merged):
    raws = [RawSheet(f"sheet {n}", rows, tuple(merged)) for n, rows in enumerate(grids)]
    match = propose(raws, LAYOUTS, TODAY)
    assert Match.from_dict(match.to_dict()) == match
    questions(match, raws, LAYOUTS, TODAY)
    fingerprint(match, raws)
    made = apply(match, raws, LAYOUTS, TODAY)
    for name, raw in made.sheets.items():
        table = read_sheet(LAYOUTS[name], raw, TODAY)
        for fault in table.faults:
            theirs = made.theirs(fault)
            assert theirs.sheet.startswith("sheet ")
            assert 1 <= theirs.row <= 8


@given(st.sampled_from(sorted(ALL)), st.data())
@settings(max_examples=40, deadline=None)
def test_every_row_below_the_headers_gives_a_row_of_ours_or_is_named(name, data):
    rows = [list(row) for row in ALL[name]]
    place = data.draw(st.integers(1, len(rows) - 1)), data.draw(st.integers(0, len(rows[0]) - 1))
    rows[place[0]][place[1]] = data.draw(CELL)
    raws = [RawSheet("book", rows)]
    match = propose(raws, LAYOUTS, TODAY)
    made = apply(match, raws, LAYOUTS, TODAY)
    read = [table for table in match.tables if table.target in LAYOUTS]
    for table in read:
        from_rows = {origin.row for origin in made.origins.values() if origin.rows.table == table}
        silent = {row for title, row in made.silent}
        filled = {n for n, row in enumerate(rows, 1) if n > table.first
                  and any(cell is not None and str(cell).strip() for cell in row)}  # fmt: skip
        assert filled <= from_rows | silent
