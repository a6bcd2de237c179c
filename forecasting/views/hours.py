"""What an hour buys: the list, and its files to hand over."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fleet.access import member

from .. import hours_list, reads
from ..forms import HoursForm
from ..papers.hours_paper import hours_paper
from ..papers.hours_sheet import hours_csv, hours_workbook
from .papers import CSV, PDF, XLSX, of_fleet

WHAT = "what-an-hour-buys"


def asked_for(request: HttpRequest) -> tuple[HoursForm, hours_list.HoursList]:
    form = HoursForm(request.fleet, request.GET.dict())
    return form, hours_list.hours_list(request.fleet, *form.chosen)


@member()
def hours(request: HttpRequest) -> HttpResponse:
    form, found = asked_for(request)
    context = {
        "form": form,
        "found": found,
        "answer": hours_list.answer(found),
        "what_it_buys": hours_list.what_it_buys(found),
        "query": request.GET.urlencode(),
        "run": reads.wire_model(request.fleet),
    }
    return render(request, "forecasting/hours.html", context)


@member()
def hours_pdf(request: HttpRequest) -> HttpResponse:
    paper = hours_paper(request.fleet, asked_for(request)[1])
    return of_fleet(paper, PDF, request.fleet, WHAT, "pdf")


@member()
def hours_xlsx(request: HttpRequest) -> HttpResponse:
    book = hours_workbook(request.fleet, asked_for(request)[1])
    return of_fleet(book, XLSX, request.fleet, WHAT, "xlsx")


@member()
def hours_csv_file(request: HttpRequest) -> HttpResponse:
    rows = hours_csv(request.fleet, asked_for(request)[1])
    return of_fleet(rows, CSV, request.fleet, WHAT, "csv")
