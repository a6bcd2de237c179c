"""The board of the yard: which boat is there in which week, moved by hand, and what to order."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.views.decorators.http import require_POST

from fleet.access import member
from fleet.models import Membership, WorkRow
from fleet.work import asking

from .. import reads, yard_board, yard_orders, yard_planning, yard_reads, yard_told
from ..models import YardPlan
from ..yard_board_form import NewBoardForm
from ..yard_board_moves import Answered, moved_by_hand

MANAGER = Membership.Role.MANAGER
BOATS_AT_ONCE = 150  # More than that, and the page shows one base at a time.


@member()
def yard_plans(request: HttpRequest) -> HttpResponse:
    """List the boards; a manager makes one."""
    may = request.role == MANAGER
    form = NewBoardForm(request.POST or None, fleet=request.fleet)
    if request.method == "POST" and may and form.is_valid():
        return work_out(request, form.save(request.user))
    context = {
        "plans": yard_told.listed(request.fleet),
        "forecast": reads.has_outlook(request.fleet),
        "form": form if may and not form.nothing else None,
        "nothing": form.nothing,
    }
    return render(request, "forecasting/yard/plans.html", context)


@member()
def yard_board_page(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the weeks of every base, or of one where the fleet is large."""
    plan = of(request, pk)
    return render(request, "forecasting/yard/board.html", shown(request, plan))


def shown(request: HttpRequest, plan: YardPlan) -> dict:
    """Return what the board's page shows."""
    bases = [row.base for row in plan.bases.select_related("base")]
    base = chosen_base(request.GET.get("base", ""), plan, bases)
    everything = yard_board.boards(plan)
    return told(plan, everything) | {
        "bases": bases,
        "several": len(bases) > 1,
        "shown": base,
        "boards": [board for board in everything if base in (None, board.base.pk)],
        "behind": yard_planning.is_behind(plan),
        "work": yard_told.work_under_way(plan),
        "may_move": request.role == MANAGER,
    }


def told(plan: YardPlan, everything: list[yard_board.Board]) -> dict:
    """Return what the board says beside its weeks, on the page and after a move."""
    return yard_told.limits(plan) | {
        "plan": plan,
        "of_what": yard_told.made_from(plan),
        "answer": yard_board.answer(everything),
        "proof": yard_told.proof(plan),
    }


def chosen_base(asked: str, plan: YardPlan, bases: list) -> int | None:
    """Return the base to show alone: the one asked for, the first of a large fleet, else None."""
    known = {base.pk for base in bases}
    if asked.isdecimal() and int(asked) in known:
        return int(asked)
    return bases[0].pk if bases and plan.visits.count() > BOATS_AT_ONCE else None


@member(MANAGER)
@require_POST
def yard_work_out(request: HttpRequest, pk: int) -> HttpResponse:
    return work_out(request, of(request, pk))


@member(MANAGER)
def yard_delete(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask whether to delete the board; POST does."""
    plan = of(request, pk)
    if request.method == "POST":
        messages.success(request, f"The board of {plan.season} is deleted.")
        plan.delete()
        return redirect("yard_plans", fleet=request.fleet.slug)
    context = {
        "plan": plan,
        "of_what": yard_told.made_from(plan),
        "boats": plan.visits.count(),
        "by_hand": plan.visits.exclude(kept_at=None).count(),
    }
    return render(request, "forecasting/yard/delete.html", context)


@member(MANAGER)
@require_POST
def yard_week(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep a boat in a week, or let the plan choose again; a script gets the changed parts."""
    plan = of(request, pk)
    answered = moved_by_hand(plan, request.POST, request.user)
    if request.accepts("text/html"):
        say = messages.error if answered.refused else messages.success
        say(request, answered.said)
        return redirect("yard_board", fleet=request.fleet.slug, pk=pk)
    return JsonResponse(parts(request, plan, answered))


def parts(request: HttpRequest, plan: YardPlan, answered: Answered) -> dict:
    """Return the parts of the page that a move changes, what to say, and how to put it back."""
    plan.refresh_from_db()
    everything = yard_board.boards(plan)
    context = told(plan, everything) | {"may_move": True}
    html = {
        "answer": render_to_string("forecasting/yard/answer.html", context, request),
        "limits": render_to_string("forecasting/yard/binding.html", context, request),
    }
    for board in everything:
        if board.base.pk == answered.base:
            context["board"] = board
            base = render_to_string("forecasting/yard/base.html", context, request)
            html[f"base-{board.base.pk}"] = base
    return {
        "said": answered.said, "refused": answered.refused, "parts": html, "back": answered.back,
        "action": reverse("yard_week", args=[request.fleet.slug, plan.pk]),
    }  # fmt: skip


@member()
def yard_orders_page(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what to order from whom by when."""
    plan = of(request, pk)
    found = yard_orders.orders(plan, request.fleet.today())
    context = {
        "plan": plan,
        "of_what": yard_told.made_from(plan),
        "orders": found,
        "total": yard_orders.total(found),
    }
    return render(request, "forecasting/yard/orders.html", context)


def of(request: HttpRequest, pk: int) -> YardPlan:
    return get_object_or_404(yard_reads.yard_plans(request.fleet), pk=pk)


def work_out(request: HttpRequest, plan: YardPlan) -> HttpResponse:
    """Ask for the weeks to be worked out, and go to the page of that work."""
    row = asking.ask(request.fleet, WorkRow.Kind.YARD, request.user, key=f"{plan.pk}", plan=plan.pk)
    return redirect("work", fleet=request.fleet.slug, pk=row.pk)
