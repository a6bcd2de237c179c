"""Workbooks and CSV files, in and out: opened, read into drafts, written, exported."""
