"""Whose data: every address, method and object, as a stranger and as a member elsewhere.

The same answer for what is another fleet's and for what does not exist.
"""

import re
import uuid

import pytest
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests import builders

METHODS = ("get", "head", "post", "put", "patch", "delete", "options")
ABSENT = 987654321
ABSENT_UUID = uuid.UUID(int=ABSENT)
# Asked for by a script, which is told so where a page is led to the sign-in.
FOR_SCRIPTS = ("dock_kit", "dock_send", "dock_photos")
# Which object an address with a number names; a new address must be added here.
OBJECT_OF = {
    "boat": "boat",
    "inspect": "boat",
    "inspection": "inspection",
    "reminder": "reminder",
    "make_good": "finding",
    "renew": "part",
    "rig_schedule": "boat",
    "blank_sheet": "boat",
    "inspection_report": "inspection",
    "work_order": "boat",
    "rig": "boat",
    "boat_edit": "boat",
    "parts_table": "boat",
    "work": "work",
    "summary": "summary",
    "work_file": "export",
    "base_edit": "base",
    "ground_edit": "ground",
    "inspection_correct": "inspection",
    "inspection_versions": "inspection",
    "dock_upload": "upload",
    "photo": "photo",
    "photo_small": "photo",
    "kept_match": "match",
    "kept_match_delete": "match",
    "failure_record": "boat",
    "yard_move": "boat",
    "mast_down": "boat",
    "stepped": "boat",
    "reports": "boat",
    "second_look": "part",
    "failure": "failure",
    "failure_paper": "failure",
    "stepping": "stepping",
    "report": "report",
    "report_file": "report",
    "recommendation": "recommendation",
    "spare": "spare",
    "demand": "demand",
    "demand_edit": "demand",
    "demand_pack": "demand",
    "demand_zip": "demand",
    "booking_off": "booking",
    "set_aside_decide": "aside",
    "set_aside_evidence": "aside",
    "part_books": "part",
    "invoice": "invoice",
    "budget_boat": "boat",
    "consent": "boat",
    "budget_version": "version",
    "version_xlsx": "version",
    "version_csv": "version",
    "invoice_order": "invoice",
    "invoice_withdraw": "invoice",
    "order": "order",
    "order_pdf": "order",
    "order_give": "order",
    "order_step": "order",
    "order_supply": "order",
    "supply_strike": "supply",
    "order_line": "order_line",
    "line_not_done": "order_line",
    "season_pdf": "season_plan",
    "season_xlsx": "season_plan",
    "season_csv": "season_plan",
    "version_pdf": "version",
    "season_plan": "season_plan",
    "season_plan_limits": "season_plan",
    "season_plan_work_out": "season_plan",
    "season_plan_copy": "season_plan",
    "season_plan_move": "season_plan",
    "season_plan_delete": "season_plan",
    "yard_limits": "yard_plan",
    "yard_block_off": "yard_block",
    "lead_time_off": "lead_time",
    "yard_board": "yard_plan",
    "yard_work_out": "yard_plan",
    "yard_delete": "yard_plan",
    "yard_week": "yard_plan",
    "yard_orders": "yard_plan",
    "yard_pdf": "yard_plan",
    "yard_xlsx": "yard_plan",
    "yard_csv": "yard_plan",
    "yard_ics": "yard_plan",
    "orders_pdf": "yard_plan",
    "orders_xlsx": "yard_plan",
    "orders_csv": "yard_plan",
}


def addresses() -> list[tuple[str, tuple[str, ...]]]:
    """Return (name, arguments) of every address that lives under a fleet's name."""
    found = []

    def walk(patterns, prefix: str) -> None:
        for entry in patterns:
            route = prefix + str(entry.pattern)
            if isinstance(entry, URLResolver):
                walk(entry.url_patterns, route)
            elif isinstance(entry, URLPattern) and "<slug:fleet>" in route:
                found.append((entry.name, tuple(re.findall(r"<\w+:(\w+)>", route))))

    walk(get_resolver().url_patterns, "")
    return found


def object_id(rows, name: str):
    return getattr(rows, OBJECT_OF[name]).pk


def absent_id(rows, name: str):
    return ABSENT_UUID if isinstance(object_id(rows, name), uuid.UUID) else ABSENT


def answer(client: Client, method: str, url: str) -> tuple[int, str]:
    """Return the status and the body without what differs by request alone."""
    response = getattr(client, method)(url)
    body = response.content.decode() if not response.streaming else ""
    body = re.sub(r'name="csrfmiddlewaretoken" value="\w+"', "", body)
    where = response.headers.get("Location", "").replace(url, "HERE")
    return response.status_code, body.replace(url, "HERE") + where


@pytest.fixture(scope="module")
def made(django_db_setup, django_db_blocker):
    """Two fleets, made once; what a test does to them is taken back with its own transaction."""
    with django_db_blocker.unblock(), transaction.atomic():
        own, other = builders.one_of_each("harbour"), builders.one_of_each("estuary")
        builders.person("hanna", own.fleet)
        yield own, other
        transaction.set_rollback(True)


@pytest.fixture
def fleets(made, db):
    return made


@pytest.fixture
def hanna(fleets) -> Client:
    client = Client()
    client.force_login(
        fleets[0].fleet.memberships.get().user, "django.contrib.auth.backends.ModelBackend"
    )
    return client


@pytest.mark.parametrize(("name", "arguments"), addresses(), ids=lambda value: str(value))
def test_another_fleets_page_answers_as_one_that_does_not_exist(hanna, fleets, name, arguments):
    _, other = fleets
    kwargs = {"fleet": other.fleet.slug}
    nowhere = {"fleet": "no-such-fleet"}
    for argument in arguments[1:]:
        kwargs[argument], nowhere[argument] = object_id(other, name), absent_id(other, name)
    for method in METHODS:
        foreign = answer(hanna, method, reverse(name, kwargs=kwargs))
        absent = answer(hanna, method, reverse(name, kwargs=nowhere))
        assert foreign == absent
        assert foreign[0] == 404


@pytest.mark.parametrize(
    ("name", "arguments"), [a for a in addresses() if len(a[1]) > 1], ids=lambda value: str(value)
)
def test_another_fleets_object_under_ones_own_address_does_not_exist(
    hanna, fleets, name, arguments
):
    own, other = fleets
    for method in METHODS:
        foreign, absent = (
            answer(hanna, method, reverse(name, kwargs={"fleet": own.fleet.slug, "pk": pk}))
            for pk in (object_id(other, name), absent_id(other, name))
        )
        assert foreign == absent
        assert foreign[0] in (404, 405)


@pytest.mark.parametrize(("name", "arguments"), addresses(), ids=lambda value: str(value))
def test_a_stranger_is_asked_to_sign_in_whatever_the_address(fleets, name, arguments):
    own, _ = fleets
    real = {"fleet": own.fleet.slug} | {a: object_id(own, name) for a in arguments[1:]}
    nowhere = {"fleet": "no-such-fleet"} | {a: absent_id(own, name) for a in arguments[1:]}
    for method in METHODS:
        foreign = answer(Client(), method, reverse(name, kwargs=real))
        absent = answer(Client(), method, reverse(name, kwargs=nowhere))
        assert foreign == absent
        assert foreign[0] == (403 if name in FOR_SCRIPTS else 302)


@pytest.mark.parametrize(("name", "arguments"), addresses(), ids=lambda value: str(value))
def test_ones_own_pages_open_and_name_nothing_of_another_fleet(hanna, fleets, name, arguments):
    own, _ = fleets
    kwargs = {"fleet": own.fleet.slug} | {a: object_id(own, name) for a in arguments[1:]}
    response = hanna.get(reverse(name, kwargs=kwargs))
    assert response.status_code in (200, 302, 405)
    content = b"".join(response) if response.streaming else response.content
    assert "estuary" not in content.decode(errors="ignore").lower()
