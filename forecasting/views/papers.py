"""Files to hand over, made when asked for."""

import datetime as dt

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.text import slugify

from fleet.access import member
from fleet.models import Boat, Fleet
from inspections.followups import Failure
from inspections.models import Inspection

from .. import reads
from ..filters import BoatFilter
from ..papers.blank_sheet import blank_sheet
from ..papers.budget_paper import budget_paper
from ..papers.budget_workbook import budget_workbook
from ..papers.failure_paper import failure_paper
from ..papers.fleet_schedule import MOST, fleet_schedule, fleet_schedule_workbook
from ..papers.inspection_report import inspection_report
from ..papers.look_list import look_list, look_workbook
from ..papers.outlook_sheet import outlook_csv, outlook_workbook
from ..papers.refit_list import refit_list
from ..papers.refit_sheet import refit_rows_csv, refit_workbook
from ..papers.rig_schedule import rig_schedule
from ..papers.work_order import work_order

PDF = "application/pdf"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
CSV = "text/csv; charset=utf-8"


def attachment(content: bytes, kind: str, name: str, day: dt.date, ending: str) -> HttpResponse:
    response = HttpResponse(content, content_type=kind)
    response["Content-Disposition"] = f'attachment; filename="{name}-{day}.{ending}"'
    return response


def of_fleet(content: bytes, kind: str, fleet: Fleet, what: str, ending: str) -> HttpResponse:
    return attachment(content, kind, f"{fleet.slug}-{what}", fleet.today(), ending)


def of_boat(content: bytes, boat: Boat, what: str) -> HttpResponse:
    name = slugify(boat.name) or f"boat-{boat.pk}"
    return of_fleet(content, PDF, boat.fleet, f"{name}-{what}", "pdf")


def boat_of(request: HttpRequest, pk: int) -> Boat:
    boats = Boat.objects.of(request.fleet).select_related("fleet", "base__ground")
    return get_object_or_404(boats, pk=pk)


@member()
def work_order_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """With ``?mast=down`` also what to see with the mast out, whatever is planned."""
    boat = boat_of(request, pk)
    down = request.GET.get("mast") == "down"
    return of_boat(work_order(boat, mast_out=down), boat, "work-order")


@member()
def failure_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    rows = Failure.objects.of(request.fleet).select_related("installation__stay__boat__fleet")
    failure = get_object_or_404(rows, pk=pk)
    boat = failure.installation.stay.boat
    return of_boat(failure_paper(failure), boat, "cut-sheet")


@member()
def rig_schedule_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    boat = boat_of(request, pk)
    return of_boat(rig_schedule(boat), boat, "rigging-schedule")


@member()
def blank_sheet_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """For the level in the query; a deck check where none is given."""
    boat, level = boat_of(request, pk), request.GET.get("level", "")
    level = level if level in Inspection.Level.values else Inspection.Level.DECK
    return of_boat(blank_sheet(boat, level), boat, f"sheet-{level.replace('_', '-')}")


@member()
def report_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    looks = Inspection.objects.of(request.fleet)
    look = get_object_or_404(looks.select_related("boat__fleet", "boat__base", "criteria"), pk=pk)
    name = f"{slugify(look.boat.name) or look.boat_id}-inspection"
    return attachment(inspection_report(look), PDF, name, look.on, "pdf")


@member()
def refit_pdf(request: HttpRequest) -> HttpResponse:
    return of_fleet(refit_list(request.fleet), PDF, request.fleet, "refit", "pdf")


@member()
def refit_xlsx(request: HttpRequest) -> HttpResponse:
    return of_fleet(refit_workbook(request.fleet), XLSX, request.fleet, "refit", "xlsx")


@member()
def refit_csv(request: HttpRequest) -> HttpResponse:
    return of_fleet(refit_rows_csv(request.fleet), CSV, request.fleet, "refit", "csv")


@member()
def budget_pdf(request: HttpRequest) -> HttpResponse:
    return of_fleet(budget_paper(request.fleet), PDF, request.fleet, "budget", "pdf")


@member()
def budget_xlsx(request: HttpRequest) -> HttpResponse:
    return of_fleet(budget_workbook(request.fleet), XLSX, request.fleet, "budget", "xlsx")


@member()
def outlook_xlsx(request: HttpRequest) -> HttpResponse:
    content = outlook_workbook(request.fleet)
    return of_fleet(content, XLSX, request.fleet, "outlook", "xlsx")


@member()
def outlook_rows_csv(request: HttpRequest) -> HttpResponse:
    content = outlook_csv(request.fleet)
    return of_fleet(content, CSV, request.fleet, "outlook", "csv")


@member()
def look_list_pdf(request: HttpRequest) -> HttpResponse:
    content = look_list(request.fleet)
    return of_fleet(content, PDF, request.fleet, "to-look-at", "pdf")


@member()
def look_list_xlsx(request: HttpRequest) -> HttpResponse:
    content = look_workbook(request.fleet)
    return of_fleet(content, XLSX, request.fleet, "to-look-at", "xlsx")


@member()
def fleet_schedule_pdf(request: HttpRequest) -> HttpResponse:
    """Of the boats that the page of boats shows, by its filter."""
    boats = shown_boats(request)
    if boats.count() > MOST:
        words = (
            f"A paper of more than {MOST} boats is too long to print: choose a base first, "
            "or take the XLSX."
        )
        messages.error(request, words)
        return redirect("boats", fleet=request.fleet.slug)
    content = fleet_schedule(request.fleet, boats)
    return of_fleet(content, PDF, request.fleet, "rigging-schedule", "pdf")


@member()
def fleet_schedule_xlsx(request: HttpRequest) -> HttpResponse:
    content = fleet_schedule_workbook(request.fleet, shown_boats(request))
    return of_fleet(content, XLSX, request.fleet, "rigging-schedule", "xlsx")


def shown_boats(request: HttpRequest) -> QuerySet[Boat]:
    everything = reads.boats(request.fleet, request.fleet.today())
    return BoatFilter(request.GET, queryset=everything, request=request).qs
