"""Cells of a spreadsheet into typed values, or faults that say what would be right. No Django."""

from .dates import Day, DayOrYear
from .faults import Fault, Reading, Unreadable
from .kinds import Choice, Email, Kind, Number, Text, Whole, YesNo, folded
from .layout import Column, Layout, RawSheet, Row, Table
from .reading import read_sheet

__all__ = [
    "Choice",
    "Column",
    "Day",
    "DayOrYear",
    "Email",
    "Fault",
    "Kind",
    "Layout",
    "Number",
    "RawSheet",
    "Reading",
    "Row",
    "Table",
    "Text",
    "Unreadable",
    "Whole",
    "YesNo",
    "folded",
    "read_sheet",
]
