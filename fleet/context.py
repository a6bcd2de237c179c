"""What every page shows: the fleet, its date, the sections, and the reader's role."""

from django.http import HttpRequest

from .models import Membership

SECTIONS = (
    ("boats", "Boats"),
    ("inspections", "Inspections"),
    ("outlook", "Outlook"),
    ("refit", "Refit"),
    ("budget", "Budget"),
    ("calendar", "Calendar"),
    ("reminders", "Reminders"),
)
# Pages that belong to a section without bearing its name.
BELONGS = {"boat": "boats", "how": "outlook", "trust": "outlook", "hours": "outlook",
           "inspection": "inspections", "inspect": "inspections",
           "not_released": "inspections",
           "second_look": "inspections", "event": "inspections", "failure": "inspections",
           "failure_record": "inspections", "yard_move": "inspections",
           "recommendations": "inspections", "recommendation": "inspections",
           "report": "inspections", "reports": "boats", "mast_down": "boats",
           "stepped": "boats", "stepping": "boats", "spares": "inspections",
           "spare": "inspections", "consumables": "inspections",
           "calendar_feeds": "calendar", "bookings": "calendar",
           "demands": "calendar", "demand": "calendar", "demand_add": "calendar",
           "demand_edit": "calendar",
           "reminder": "reminders", "reminders_outbox": "reminders",
           "reminders_health": "reminders", "reminders_preview": "reminders",
           "reminders_people": "reminders", "reminders_person": "reminders",
           "reminders_words": "reminders", "set_aside": "reminders",
           "rig": "boats", "hand_ins": "boats",
           "parts_table": "boats", "boat_add": "boats", "boat_edit": "boats",
           "summary": "budget", "reserve": "budget", "reserve_questions": "budget",
           "register": "budget", "review_lives": "budget", "part_books": "budget",
           "accounts": "budget", "invoices": "budget", "invoice_add": "budget",
           "invoice": "budget", "audit": "budget", "budget_boat": "budget",
           "budget_versions": "budget", "budget_version": "budget",
           "consents": "budget", "consent": "budget",
           "signs": "inspections",
           "season_plans": "refit", "season_plan": "refit", "season_plan_new": "refit",
           "orders": "refit", "orders_new": "refit", "order": "refit", "order_line": "refit",
           "season_plan_limits": "refit", "season_plans_compare": "refit",
           "yard_limits": "refit", "yard_blocks": "refit", "lead_times": "refit",
           "yard_plans": "refit", "yard_board": "refit", "yard_delete": "refit",
           "yard_orders": "refit",
           "ages": "refit", "looks": "refit",
           "sign_change": "inspections", "dock_uploads": "inspections",
           "dock_upload": "inspections", "inspection_correct": "inspections",
           "inspection_versions": "inspections"}  # fmt: skip


def current_fleet(request: HttpRequest) -> dict:
    """Return nothing outside a fleet, so that error and sign-in pages need none."""
    fleet = getattr(request, "fleet", None)
    if fleet is None:
        return {}
    name = request.resolver_match.url_name if request.resolver_match else ""
    return {
        "fleet": fleet,
        "today": fleet.today(),
        "role": request.role,
        "role_words": Membership.Role(request.role).label,
        "sections": SECTIONS,
        "section": BELONGS.get(name, name),
    }
