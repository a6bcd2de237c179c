"""When boats are booked: what is on record, a file of bookings, one by hand, one taken off."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from fleet.access import member

from ..bookings import keeping
from ..bookings.forms import BookingFileForm, BookingForm
from ..models import Booking
from ..spreadsheets import uploads
from .looks import WRITERS
from .writing import may_write

A_PAGE = 60
FAULTS_SHOWN = 100


@member()
def bookings(request: HttpRequest) -> HttpResponse:
    """What is booked from today on; POST takes in a file, or one booking by hand."""
    fleet, writes = request.fleet, may_write(request)
    by_hand = request.POST.get("step") == "one"
    file_form = BookingFileForm(fleet, *((request.POST, request.FILES) if not by_hand and
                                         request.method == "POST" else ()))  # fmt: skip
    form = BookingForm(fleet, request.POST if by_hand else None)
    faults = ()
    if request.method == "POST" and writes:
        done, faults = added(request, form) if by_hand else taken_in(request, file_form)
        if done:
            return redirect("bookings", fleet=fleet.slug)
    rows = Booking.objects.of(fleet).filter(last__gte=fleet.today()).select_related("boat__base")
    page = Paginator(rows, A_PAGE).get_page(request.GET.get("page"))
    context = {
        "page": page,
        "booked": page.paginator.count,
        "double": keeping.overlapping(rows),
        "form": form,
        "file_form": file_form,
        "faults": faults[:FAULTS_SHOWN],
        "number": len(faults),
        "may_write": writes,
    }
    return render(request, "inspections/bookings.html", context)


def taken_in(request: HttpRequest, form: BookingFileForm) -> tuple[bool, tuple]:
    """Read the file; return whether it is on record, and what is wrong with it."""
    if not form.is_valid():
        return False, ()
    given = form.cleaned_data
    files = uploads.received([given["file"]])
    made = keeping.take_in(request.fleet, files, given["boat"], given["whole"], request.user)
    if made.faults:
        return False, made.faults
    gone = f", {made.gone} taken off" if given["whole"] else ""
    messages.success(request, f"{made.new} bookings new, {made.known} known before{gone}.")
    return True, ()


def added(request: HttpRequest, form: BookingForm) -> tuple[bool, tuple]:
    if not form.is_valid():
        return False, ()
    try:
        row = keeping.add(**form.cleaned_data, user=request.user)
        messages.success(request, f"On record: {row.boat} is booked.")
        return True, ()
    except ValidationError as fault:
        form.add_error(None, fault)
        return False, ()


@member(*WRITERS)
@require_POST
def booking_off(request: HttpRequest, pk: int) -> HttpResponse:
    """Take one booking off the record."""
    row = get_object_or_404(Booking.objects.of(request.fleet).select_related("boat"), pk=pk)
    messages.success(request, f"Taken off: {keeping.take_off(row)}.")
    return redirect("bookings", fleet=request.fleet.slug)
