"""Spreadsheets in and out: hand in a file, see every fault, then write it; the template; export."""

import io

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from fleet.access import member
from fleet.importing import Report
from fleet.models import WorkRow
from fleet.spreadsheets import exporting
from fleet.spreadsheets.csv_files import write_csv
from fleet.spreadsheets.template_workbook import write_template
from fleet.spreadsheets.workbooks import NamedFile
from fleet.work import asking

from ..importing import SHEETS, import_workbook
from ..spreadsheets import uploads
from .looks import WRITERS

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
FAULTS_SHOWN = 300
FAULT_HEADERS = ("sheet", "row", "column", "value", "what is wrong", "what would be right")


@member()
def import_page(request: HttpRequest) -> HttpResponse:
    """Take a workbook or CSV files, and go on to what the check found."""
    if request.method == "POST":
        if request.role not in WRITERS:
            raise PermissionDenied("Managers and bosuns import.")
        files = request.FILES.getlist("files")
        if files:
            token = uploads.keep(request.fleet, request.user, uploads.received(files))
            address = reverse("import_check", kwargs={"fleet": request.fleet.slug})
            return redirect(f"{address}?file={token}")
        messages.error(request, "No file was chosen. Choose a workbook or CSV files first.")
    return hand_in_page(request)


def hand_in_page(request: HttpRequest) -> HttpResponse:
    layouts = [sheet.layout for sheet in SHEETS]
    context = {"writes": request.role in WRITERS, "layouts": layouts}
    return render(request, "inspections/import.html", context)


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
    if request.method != "POST":
        report = import_workbook(request.fleet, files)
        return faults_csv(report) if "csv" in said else check_page(request, report, token, files)
    take = "good" if said.get("take") == "good" else "all"
    row = asking.ask(
        request.fleet, WorkRow.Kind.IMPORT, request.user, key=token, file=token, take=take
    )
    return redirect("work", fleet=request.fleet.slug, pk=row.pk)


def check_page(
    request: HttpRequest, report: Report, token: str, files: list[NamedFile]
) -> HttpResponse:
    context = {
        "report": report,
        "faults": report.faults[:FAULTS_SHOWN],
        "hidden": max(0, len(report.faults) - FAULTS_SHOWN),
        "token": token,
        "files": ", ".join(file.name for file in files),
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
        packed = exporting.csv_archive(fleet, SHEETS)
        return download(packed, "application/zip", f"{fleet.slug}-{fleet.today()}.zip")
    book = io.BytesIO()
    exporting.write_workbook(fleet, SHEETS, book)
    return download(book.getvalue(), XLSX, f"{fleet.slug}-{fleet.today()}.xlsx")


def download(content: bytes, kind: str, name: str) -> HttpResponse:
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(content, content_type=kind, headers=headers)
