"""Import a workbook or a folder of CSV files into a fleet. Without --write it only checks.

A sheet kept the fleet's own way is read by the match that the fleet keeps for its headers.
"""

import sys
from argparse import ArgumentParser
from collections.abc import Sequence
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.urls import reverse

from fleet.checks import OWN_CHECKS
from fleet.importing import Report
from fleet.matching import Question, apply, questions
from fleet.models import Fleet, SheetMatch
from fleet.spreadsheets.encodings import ASKED, read_as
from fleet.spreadsheets.files import files_at
from fleet.spreadsheets.packed import Refused
from fleet.spreadsheets.workbooks import Source
from fleet.templatetags.wording import day
from inspections.importing import import_workbook
from inspections.spreadsheets import matched_files
from inspections.spreadsheets.matched_files import LAYOUTS

MOST_FAULTS_SHOWN = 200


class Command(BaseCommand):
    requires_system_checks = OWN_CHECKS
    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("fleet", help="the fleet's name in addresses, for example north-fleet")
        parser.add_argument("file", help="an XLSX workbook, a CSV file, or a folder of CSV files")
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
        how = {"take_good_rows": options["good_rows"], "dry_run": not options["write"]}
        report = self.read(fleet, source_at(path, options["encoding"]), path, how)
        for fault in report.faults[:MOST_FAULTS_SHOWN]:
            self.stderr.write(str(fault))
        if len(report.faults) > MOST_FAULTS_SHOWN:
            self.stderr.write(f"... and {len(report.faults) - MOST_FAULTS_SHOWN} more.")
        self.show(report)
        if report.faults:
            sys.exit(2)

    def read(self, fleet: Fleet, files: Source, path: Path, how: dict[str, bool]) -> Report:
        """Check or write the file as ours, or by the fleet's match for its headers."""
        book = matched_files.opened(files)
        if not matched_files.needs_match(book):
            return import_workbook(fleet, files, **how)
        raws = matched_files.raws_of(book)
        found = matched_files.kept_proposal(fleet, raws)
        if found is None:
            raise CommandError(without_match(fleet, path), returncode=2)
        if asked := questions(found.match, raws, LAYOUTS, fleet.today()):
            raise CommandError(open_questions(fleet, path, found.kept, asked), returncode=2)
        self.stdout.write(f"Read by {said_of(found.kept)}.")
        made = apply(found.match, raws, LAYOUTS, fleet.today())
        report = matched_files.import_matched(fleet, files, made, **how)
        for title, row in made.silent[:MOST_FAULTS_SHOWN]:
            self.stdout.write(f"{title}, row {row}, gives no part: nothing of any stay is said.")
        if report.written:
            matched_files.note_use(fleet, found.kept.pk)
        return report

    def show(self, report: Report) -> None:
        self.stdout.write(f"{'sheet':<12} {'new':>7} {'changed':>8} {'same':>7} {'left out':>9}")
        for sheet, count in report.counts.items():
            self.stdout.write(
                f"{sheet:<12} {count.new:>7} {count.changed:>8} {count.same:>7} {count.left_out:>9}"
            )
        if report.unused:
            self.stdout.write(f"Sheets not read: {', '.join(report.unused)}.")
        for note in report.notes:
            self.stdout.write(note)
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


def said_of(kept: SheetMatch) -> str:
    """Return which match it is: ``the match “Rigging”, kept since 3 May 2026 (made by mara)``."""
    by = kept.made_by.get_full_name() or kept.made_by.get_username() if kept.made_by else ""
    return f"the match “{kept.name}”, kept since {day(kept.made_at.date())}" + (
        f" (made by {by})" if by else ""
    )


def page_of(fleet: Fleet) -> str:
    return f"the page Import and export of the fleet, {reverse('import', args=[fleet.slug])}"


def without_match(fleet: Fleet, path: Path) -> str:
    return (
        f"{path.name} is not in our layout and {fleet} keeps no match for its headers: hand it in "
        f"once on {page_of(fleet)}, where its columns are matched and the match is kept."
    )


def open_questions(fleet: Fleet, path: Path, kept: SheetMatch, asked: Sequence[Question]) -> str:
    lines = "".join(f"\n  {question.sentence}" for question in asked)
    return (
        f"{path.name} has the headers of {said_of(kept)}, but says things that nobody has answered "
        f"yet. Nothing was read. Hand it in on {page_of(fleet)}, and answer there:{lines}"
    )


def fleet_called(slug: str) -> Fleet:
    try:
        return Fleet.objects.get(slug=slug)
    except Fleet.DoesNotExist:
        known = ", ".join(Fleet.objects.values_list("slug", flat=True)) or "none"
        raise CommandError(f"There is no fleet {slug}; there are: {known}.", returncode=2) from None
