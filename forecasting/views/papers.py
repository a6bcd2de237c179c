"""Files to hand over, made when asked for."""

import datetime as dt

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils.text import slugify

from fleet.access import member
from fleet.models import Boat, Fleet

from ..papers.budget_paper import budget_paper
from ..papers.budget_workbook import budget_workbook
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
    boat = boat_of(request, pk)
    return of_boat(work_order(boat), boat, "work-order")


@member()
def rig_schedule_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    boat = boat_of(request, pk)
    return of_boat(rig_schedule(boat), boat, "rigging-schedule")


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
