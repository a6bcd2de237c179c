"""Import a workbook or a folder of CSV files into a fleet. Without --write it only checks."""

import sys
from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from fleet.importing import Report
from fleet.models import Fleet
from fleet.spreadsheets.encodings import ASKED, read_as
from fleet.spreadsheets.files import files_at
from fleet.spreadsheets.packed import Refused
from fleet.spreadsheets.workbooks import Source
from inspections.importing import import_workbook

MOST_FAULTS_SHOWN = 200


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("fleet", help="the fleet's name in addresses, for example north-fleet")
        parser.add_argument("file", help="an XLSX workbook, or a folder of CSV files")
        parser.add_argument(
            "--encoding", choices=ASKED, help="what CSV files are read in that are not UTF-8"
        )
        parser.add_argument("--write", action="store_true", help="write it, if all is good")
        parser.add_argument(
            "--good-rows", action="store_true", help="with --write: leave out rows with faults"
        )

    def handle(self, *args, **options) -> None:
        fleet = fleet_called(options["fleet"])
        path = Path(options["file"])
        if not path.exists():
            raise CommandError(f"There is no file {path}.", returncode=2)
        report = import_workbook(
            fleet,
            source_at(path, options["encoding"]),
            take_good_rows=options["good_rows"],
            dry_run=not options["write"],
        )
        for fault in report.faults[:MOST_FAULTS_SHOWN]:
            self.stderr.write(str(fault))
        if len(report.faults) > MOST_FAULTS_SHOWN:
            self.stderr.write(f"... and {len(report.faults) - MOST_FAULTS_SHOWN} more.")
        self.show(report)
        if report.faults:
            sys.exit(2)

    def show(self, report: Report) -> None:
        self.stdout.write(f"{'sheet':<12} {'new':>7} {'changed':>8} {'same':>7} {'left out':>9}")
        for sheet, count in report.counts.items():
            self.stdout.write(
                f"{sheet:<12} {count.new:>7} {count.changed:>8} {count.same:>7} {count.left_out:>9}"
            )
        if report.unused:
            self.stdout.write(f"Sheets not read: {', '.join(report.unused)}.")
        self.stdout.write(outcome(report))


def source_at(path: Path, encoding: str | None) -> Source:
    """Return the path, or its files read in the encoding somebody says they are in."""
    if encoding is None:
        return path
    try:
        return read_as(files_at(path), encoding)
    except Refused as trouble:
        raise CommandError(f"{trouble.wrong} {trouble.right}", returncode=2) from None


def outcome(report: Report) -> str:
    faults = f"{len(report.faults)} fault{'' if len(report.faults) == 1 else 's'}"
    if report.written:
        return f"Written, without the rows of {faults}." if report.faults else "Written."
    if report.faults:
        return f"{faults}; nothing was written."
    return "All good; nothing was written yet. Add --write to write it."


def fleet_called(slug: str) -> Fleet:
    try:
        return Fleet.objects.get(slug=slug)
    except Fleet.DoesNotExist:
        known = ", ".join(Fleet.objects.values_list("slug", flat=True)) or "none"
        raise CommandError(f"There is no fleet {slug}; there are: {known}.", returncode=2) from None
