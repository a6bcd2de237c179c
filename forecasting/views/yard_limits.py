"""What the yard has a week, which days are taken, how long parts take to come."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from fleet.access import member
from fleet.models import Membership, WorkRow
from fleet.templatetags.wording import day
from fleet.work import asking
from inspections.spreadsheets import uploads

from .. import yard_block_files, yard_planning
from ..models import LeadTime, YardBlock, YardPlan
from ..yard_forms import LeadTimeForm, YardBlockFileForm, YardBlockForm, YardLimitsForm

MANAGER = Membership.Role.MANAGER
FAULTS_SHOWN = 100


@member(MANAGER)
def yard_limits(request: HttpRequest, pk: int) -> HttpResponse:
    """What each base has a week; saved, the weeks are worked out anew."""
    plan = get_object_or_404(YardPlan.objects.of(request.fleet), pk=pk)
    try:
        rows = yard_planning.rows_of(plan, request.fleet.today())
    except yard_planning.NothingToDo as reason:
        messages.error(request, str(reason))
        return redirect("refit", fleet=request.fleet.slug)
    form = YardLimitsForm(request.POST or None, plan=plan, rows=rows)
    if request.method == "POST" and form.is_valid():
        form.save()
        return work_out(request, plan)
    context = {"form": form, "plan": plan, "groups": form.groups()}
    return render(request, "forecasting/yard/limits.html", context)


def work_out(request: HttpRequest, plan: YardPlan) -> HttpResponse:
    """Ask for the weeks to be worked out, and go to the page of that work."""
    row = asking.ask(request.fleet, WorkRow.Kind.YARD, request.user, key=f"{plan.pk}", plan=plan.pk)
    return redirect("work", fleet=request.fleet.slug, pk=row.pk)


@member(MANAGER)
def yard_blocks(request: HttpRequest) -> HttpResponse:
    """The days that are taken from today on; POST adds some, by hand or from a file."""
    fleet, posted = request.fleet, request.method == "POST"
    by_hand = request.POST.get("step") == "one"
    form = YardBlockForm(fleet, request.POST if by_hand else None)
    given = (request.POST, request.FILES) if posted and not by_hand else ()
    file_form = YardBlockFileForm(fleet, *given)
    faults: tuple = ()
    if posted:
        done, faults = added(request, form) if by_hand else taken_in(request, file_form)
        if done:
            return redirect("yard_blocks", fleet=fleet.slug)
    rows = YardBlock.objects.of(fleet).filter(last__gte=fleet.today())
    context = {
        "blocks": rows.select_related("base", "boat"), "form": form, "file_form": file_form,
        "faults": faults[:FAULTS_SHOWN], "number": len(faults),
    }  # fmt: skip
    return render(request, "forecasting/yard/blocks.html", context)


def added(request: HttpRequest, form: YardBlockForm) -> tuple[bool, tuple]:
    if not form.is_valid():
        return False, ()
    form.instance.by = request.user
    row = form.save()
    messages.success(request, f"Taken: {day(row.first)} to {day(row.last)}. {ANEW}")
    return True, ()


ANEW = "Work the weeks out anew for it to count."


def taken_in(request: HttpRequest, form: YardBlockFileForm) -> tuple[bool, tuple]:
    """Read the file; return whether it is on record, and what is wrong with it."""
    if not form.is_valid():
        return False, ()
    given = form.cleaned_data
    [file] = uploads.received([given["file"]])
    made = yard_block_files.take_in(request.fleet, file, given["base"], given["what"], request.user)
    if made.faults:
        return False, made.faults
    messages.success(request, f"{made.new} new, {made.known} known before. {ANEW}")
    return True, ()


@member(MANAGER)
@require_POST
def yard_block_off(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(YardBlock.objects.of(request.fleet), pk=pk)
    messages.success(request, f"Free again: {day(row.first)} to {day(row.last)}. {ANEW}")
    row.delete()
    return redirect("yard_blocks", fleet=request.fleet.slug)


@member(MANAGER)
def lead_times(request: HttpRequest) -> HttpResponse:
    """How long parts take from order to hand; POST adds a row."""
    fleet = request.fleet
    form = LeadTimeForm(fleet, request.POST or None)
    if request.method == "POST" and form.is_valid():
        row = form.save()
        messages.success(request, f"On record: {row.weeks:g} weeks. {ANEW}")
        return redirect("lead_times", fleet=fleet.slug)
    context = {"rows": LeadTime.objects.of(fleet), "form": form}
    return render(request, "forecasting/yard/lead_times.html", context)


@member(MANAGER)
@require_POST
def lead_time_off(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(LeadTime.objects.of(request.fleet), pk=pk)
    messages.success(request, f"Taken off: {row.weeks:g} weeks. {ANEW}")
    row.delete()
    return redirect("lead_times", fleet=request.fleet.slug)
