"""The board of the yard and what to order, as files to hand over."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils.text import slugify

from fleet.access import member
from fleet.models import Base

from ..models import YardPlan
from ..papers.order_rows import order_csv, order_paper, order_workbook
from ..papers.yard_paper import yard_paper
from ..papers.yard_rows import yard_csv as board_csv
from ..papers.yard_rows import yard_workbook
from ..yard_events import yard_ics as board_ics
from .papers import CSV, PDF, XLSX, of_fleet
from .yard_boards import of

CALENDAR = "text/calendar; charset=utf-8"
BOARD, ORDERS = "yard", "orders"


def file_of(plan: YardPlan, content: bytes, kind: str, what: str, ending: str) -> HttpResponse:
    name = f"{what}-{plan.season.replace('/', '-')}"
    return of_fleet(content, kind, plan.fleet, name, ending)


@member()
def yard_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    plan = of(request, pk)
    return file_of(plan, yard_paper(plan), PDF, BOARD, "pdf")


@member()
def yard_xlsx(request: HttpRequest, pk: int) -> HttpResponse:
    plan = of(request, pk)
    return file_of(plan, yard_workbook(plan), XLSX, BOARD, "xlsx")


@member()
def yard_csv(request: HttpRequest, pk: int) -> HttpResponse:
    plan = of(request, pk)
    return file_of(plan, board_csv(plan), CSV, BOARD, "csv")


@member()
def yard_ics(request: HttpRequest, pk: int) -> HttpResponse:
    """The calendar file of all bases; with ``?base=`` of that one."""
    plan, asked = of(request, pk), request.GET.get("base", "")
    if not asked:
        return file_of(plan, board_ics(plan), CALENDAR, BOARD, "ics")
    known = Base.objects.of(request.fleet).filter(pk__in=plan.bases.values("base"))
    base = get_object_or_404(known, pk=asked if asked.isdecimal() else None)
    name = f"{BOARD}-{slugify(base.name) or base.pk}"
    return file_of(plan, board_ics(plan, base), CALENDAR, name, "ics")


@member()
def orders_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    plan = of(request, pk)
    return file_of(plan, order_paper(plan), PDF, ORDERS, "pdf")


@member()
def orders_xlsx(request: HttpRequest, pk: int) -> HttpResponse:
    plan = of(request, pk)
    return file_of(plan, order_workbook(plan), XLSX, ORDERS, "xlsx")


@member()
def orders_csv(request: HttpRequest, pk: int) -> HttpResponse:
    plan = of(request, pk)
    return file_of(plan, order_csv(plan), CSV, ORDERS, "csv")
