"""Spreadsheets in and out: hand in a file, see every fault, then write it; the template; export."""

import io

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from fleet.access import member
from fleet.importing import Report
from fleet.matching import Matched
from fleet.models import Boat, ImportRecord, Membership, SheetMatch, WorkRow
from fleet.spreadsheets import encodings, exporting
from fleet.spreadsheets.csv_files import write_csv
from fleet.spreadsheets.files import NamedFile
from fleet.spreadsheets.template_workbook import write_template
from fleet.spreadsheets.workbooks import Book
from fleet.undoing import last_import, undoing_words, undone_words
from fleet.work import asking

from ..importing import EVERY_SHEET, SHEETS, WRITTEN_ONLY, undo_import
from ..spreadsheets import matched_files, uploads
from .looks import WRITERS

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
FAULTS_SHOWN = 300
BOATS_AT_ONCE = 60  # Beyond it nobody is kept waiting for the export: it is made as work.
FAULT_HEADERS = ("sheet", "row", "column", "value", "what is wrong", "what would be right")


@member()
def import_page(request: HttpRequest) -> HttpResponse:
    """Take a workbook or CSV files, and go on to what the check found."""
    if request.method == "POST":
        if request.role not in WRITERS:
            raise PermissionDenied("Managers and bosuns import.")
        files = request.FILES.getlist("files")
        if files:
            return handed_in(request, uploads.received(files))
        messages.error(request, "No file was chosen. Choose a workbook or CSV files first.")
    return hand_in_page(request)


def handed_in(request: HttpRequest, files: list[NamedFile]) -> HttpResponse:
    """Keep the files and go on; what cannot be opened at all is not kept, and told why."""
    book = matched_files.opened(files)
    if matched_files.is_hopeless(book) and not encodings.asks(files):
        return check_page(request, Report({}, book.faults, False, whole=False), "", files)
    token = uploads.keep(request.fleet, request.user, files)
    return redirect(next_step(request, token, book))


def next_step(request: HttpRequest, token: str, book: Book) -> str:
    step = "import_match" if matched_files.needs_match(book) else "import_check"
    return f"{reverse(step, kwargs={'fleet': request.fleet.slug})}?file={token}"


@member(*WRITERS)
@require_POST
def import_encoding(request: HttpRequest) -> HttpResponse:
    """Read CSV files in the encoding somebody says they are in, and keep them so."""
    token, encoding = request.POST.get("file", ""), request.POST.get("encoding", "")
    files = uploads.kept(request.fleet, request.user, token)
    if files is None or encoding not in encodings.ASKED:
        messages.error(request, "That file is not kept here any more: hand it in again.")
        return redirect("import", fleet=request.fleet.slug)
    files = encodings.read_as(files, encoding)
    uploads.put_in_place(token, files)
    return redirect(next_step(request, token, matched_files.opened(files)))


def hand_in_page(request: HttpRequest) -> HttpResponse:
    layouts = [sheet.layout for sheet in SHEETS]
    last = last_import(request.fleet)
    context = {
        "writes": request.role in WRITERS,
        "takes_long": Boat.objects.of(request.fleet).count() > BOATS_AT_ONCE,
        "layouts": layouts,
        "written_only": [sheet.layout for sheet in WRITTEN_ONLY],
        "last": last,
        "matches": SheetMatch.objects.of(request.fleet).count(),
        "undoing": last and undoing_words(last),
        "may_undo": last is not None and may_undo(request, last),
    }
    return render(request, "inspections/import.html", context)


def may_undo(request: HttpRequest, record: ImportRecord) -> bool:
    """A manager takes any import back, a bosun their own."""
    own = record.by_id == request.user.pk and request.role in WRITERS
    return own or request.role == Membership.Role.MANAGER


@member(*WRITERS)
@require_POST
def import_undo(request: HttpRequest) -> HttpResponse:
    """Take the last import back, or say what was done since that would be lost."""
    last = last_import(request.fleet)
    if last is None or str(last.pk) != request.POST.get("import"):
        messages.error(request, "This is not the last import any more, so it was left as it is.")
        return redirect("import", fleet=request.fleet.slug)
    if not may_undo(request, last):
        raise PermissionDenied("A bosun undoes their own import; a manager any.")
    try:
        words = undone_words(last)
        undo_import(last, request.user)
    except ValidationError as fault:
        messages.error(request, "Not undone. " + " ".join(fault.messages))
    else:
        messages.success(request, words)
    return redirect("import", fleet=request.fleet.slug)


@member(*WRITERS)
def import_check(request: HttpRequest) -> HttpResponse:
    """Show what importing the file would do; on POST ask for it as work, and go to its page."""
    said = request.POST if request.method == "POST" else request.GET
    token = said.get("file", "")
    if not token:
        return hand_in_page(request)
    files = uploads.kept(request.fleet, request.user, token)
    if files is None:
        messages.error(request, "That file is not kept here any more: hand it in again.")
        return redirect("import", fleet=request.fleet.slug)
    made = matched_files.by_match(request.fleet, said.get("match", ""), files)
    if said.get("match") and made is None:
        return redirect(f"{reverse('import_match', args=[request.fleet.slug])}?file={token}")
    if request.method != "POST":
        report = matched_files.read_with(request.fleet, files, made)
        if "csv" in said:
            return faults_csv(report)
        return check_page(request, report, token, files, made)
    how = {
        "file": token,
        "take": "good" if said.get("take") == "good" else "all",
        "match": said.get("match", ""),
    }
    row = asking.ask(request.fleet, WorkRow.Kind.IMPORT, request.user, key=token, **how)
    return redirect("work", fleet=request.fleet.slug, pk=row.pk)


def check_page(
    request: HttpRequest,
    report: Report,
    token: str,
    files: list[NamedFile],
    made: Matched | None = None,
) -> HttpResponse:
    context = {
        "report": report,
        "faults": report.faults[:FAULTS_SHOWN],
        "hidden": max(0, len(report.faults) - FAULTS_SHOWN),
        "token": token,
        "match": (request.POST or request.GET).get("match", "") if made else "",
        "silent": made.silent[:FAULTS_SHOWN] if made else [],
        "files": ", ".join(file.name for file in files),
        "asks_encoding": bool(token) and encodings.asks(files),
    }
    return render(request, "inspections/import_check.html", context)


def faults_csv(report: Report) -> HttpResponse:
    rows = [(f.sheet, f.row or "", f.column, f.value, f.wrong, f.right) for f in report.faults]
    text = write_csv([FAULT_HEADERS, *rows])
    return download(text.encode("utf-8-sig"), "text/csv; charset=utf-8", "faults.csv")


@member()
def import_template(request: HttpRequest) -> HttpResponse:
    book = io.BytesIO()
    write_template((sheet.layout for sheet in SHEETS), book)
    return download(book.getvalue(), XLSX, "fleet-template.xlsx")


@member()
def export(request: HttpRequest) -> HttpResponse:
    """Give the fleet as a workbook, or with ``?as=csv`` as CSV files in a ZIP."""
    fleet = request.fleet
    if request.GET.get("as") == "csv":
        packed = exporting.csv_archive(fleet, EVERY_SHEET)
        return download(packed, "application/zip", f"{fleet.slug}-{fleet.today()}.zip")
    book = io.BytesIO()
    exporting.write_workbook(fleet, EVERY_SHEET, book)
    return download(book.getvalue(), XLSX, f"{fleet.slug}-{fleet.today()}.xlsx")


@member()
@require_POST
def export_ask(request: HttpRequest) -> HttpResponse:
    """Ask for the fleet's files as work, and go to its page, where they are downloaded."""
    form = "csv" if request.POST.get("as") == "csv" else "xlsx"
    row = asking.ask(request.fleet, WorkRow.Kind.EXPORT, request.user, key=form, form=form)
    return redirect("work", fleet=request.fleet.slug, pk=row.pk)


def download(content: bytes, kind: str, name: str) -> HttpResponse:
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(content, content_type=kind, headers=headers)
