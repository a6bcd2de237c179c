"""The last import taken back: every table as before, and nothing entered since is lost."""

import datetime as dt

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError
from django.urls import reverse

from fleet.models import Boat, ImportRecord, Installation, Stay
from fleet.undoing import last_import
from inspections.importing import import_workbook, undo_import
from inspections.models import Hold, PartVerdict, Reminder
from tests import builders
from tests.inspections.docks import signed_in
from tests.workbooks import changed, small, xlsx

pytestmark = pytest.mark.django_db
OURS = ("fleet", "inspections", "forecasting")


def every_table() -> dict[str, list[tuple]]:
    """Return every row of every table of the project, without the imports themselves."""
    return {
        model._meta.label: list(model._default_manager.order_by("pk").values_list())
        for app in OURS
        for model in apps.get_app_config(app).get_models()
        if model is not ImportRecord
    }


@pytest.fixture
def fleet():
    return builders.empty_fleet("harbour")


def load(fleet, tables, by=None):
    report = import_workbook(fleet, xlsx(tables), dry_run=False, by=by)
    assert report.written
    return report


def condemned_and_renewed() -> dict[str, list[list]]:
    """The small workbook again: a boat longer, another base, a shroud come off and renewed."""
    tables = changed("boats", 2, length_m=12, base="Hollow Quay")
    tables["parts"] = [list(row) for row in tables["parts"]]
    header = tables["parts"][0]
    standing = tables["parts"][2]
    renewed = list(standing)
    standing[header.index("removed")] = dt.date(2026, 2, 10)
    standing[header.index("removal reason")] = "age rule"
    renewed[header.index("fitted")] = dt.date(2026, 2, 10)
    tables["parts"].append(renewed)
    return tables


def test_a_first_import_undone_leaves_every_table_as_before(fleet):
    before = every_table()
    load(fleet, small())
    assert PartVerdict.objects.exists()
    undo_import(last_import(fleet), None)
    assert every_table() == before


def test_a_shroud_renewed_by_an_import_stands_again_when_it_is_undone(fleet):
    load(fleet, small())
    before, up = every_table(), Installation.objects.standing().count()
    report = load(fleet, condemned_and_renewed())
    assert report.changed >= 2
    assert report.new >= 1
    assert every_table() != before
    undo_import(last_import(fleet), None)
    assert every_table() == before
    assert Installation.objects.standing().count() == up


def test_imports_are_undone_one_after_the_other(fleet):
    empty = every_table()
    load(fleet, small())
    load(fleet, condemned_and_renewed())
    undo_import(last_import(fleet), None)
    undo_import(last_import(fleet), None)
    assert every_table() == empty
    assert last_import(fleet) is None


def test_an_import_that_changed_nothing_is_nothing_to_undo(fleet):
    load(fleet, small())
    first = last_import(fleet)
    load(fleet, small())
    assert last_import(fleet) == first


def refused(fleet) -> str:
    before = every_table()
    with pytest.raises(ValidationError) as fault:
        undo_import(last_import(fleet), None)
    assert every_table() == before
    return " ".join(fault.value.messages)


def test_a_part_corrected_since_is_not_lost_by_undoing(fleet):
    load(fleet, small())
    part = Installation.objects.standing().first()
    part.invoice = "R-99"
    part.save()
    assert "Of its parts, 1 is changed since" in refused(fleet)


def test_an_inspection_recorded_since_is_not_lost_by_undoing(fleet):
    load(fleet, small())
    Boat.objects.first().inspections.create(
        on=builders.TODAY, level="deck", person="Bo Sun", competence="crew"
    )
    assert "1 inspection was recorded since" in refused(fleet)


def test_a_boat_taken_out_by_hand_since_stops_the_undo(fleet):
    load(fleet, small())
    fleet.prices.first().delete()
    assert "Of its prices, 1 is not there any more" in refused(fleet)


@pytest.mark.parametrize(("state", "goes"), [("queued", True), ("sent", False)])
def test_a_reminder_in_the_queue_goes_with_the_boat_and_a_sent_one_stays(fleet, state, goes):
    load(fleet, small())
    Reminder.objects.create(
        boat=Boat.objects.first(), kind="aloft", due_on=builders.TODAY, days_before=0,
        send_on=builders.TODAY, to_name="O", to_email="o@example.org", reason="r", key="k",
        state=state,
    )  # fmt: skip
    if goes:
        undo_import(last_import(fleet), None)
        assert not Reminder.objects.exists()
    else:
        assert "1 reminder was recorded since" in refused(fleet)


def test_a_hold_that_an_import_brought_is_gone_when_it_is_undone(fleet):
    tables = small()
    findings = tables.pop("findings")
    load(fleet, tables)
    before = every_table()
    load(fleet, {"findings": findings})
    assert every_table() != before
    undo_import(last_import(fleet), None)
    assert every_table() == before
    assert Hold.objects.count() == len(before["inspections.Hold"])


def at(name, fleet):
    return reverse(name, kwargs={"fleet": fleet.slug})


def post_undo(client, fleet):
    answer = {"import": last_import(fleet).pk}
    return client.post(at("import_undo", fleet), answer, follow=True)


def test_a_bosun_undoes_their_own_import_and_not_the_managers(fleet):
    boss = builders.person("boss", fleet)
    load(fleet, small(), by=boss)
    bosun = signed_in(Boat.objects.first())
    assert "Undo the last import" not in bosun.get(at("import", fleet)).content.decode()
    assert post_undo(bosun, fleet).status_code == 403
    assert Boat.objects.exists()
    record = last_import(fleet)
    record.by = fleet.memberships.get(role="bosun").user
    record.save()
    assert "Undone: taken out" in post_undo(bosun, fleet).content.decode()
    assert not Boat.objects.exists()


def test_the_page_says_exactly_what_will_be_taken_out_and_put_back_and_then_does_it(fleet):
    load(fleet, small())
    kinds = (Boat, Stay, Installation)
    before = [kind.objects.count() for kind in kinds]
    load(fleet, condemned_and_renewed())
    boats, stays, parts = (
        kind.objects.count() - count for kind, count in zip(kinds, before, strict=True)
    )
    assert (boats, stays, parts) == (0, 0, 1)
    manager = signed_in(Boat.objects.first(), "manager")
    page = manager.get(at("import", fleet)).content.decode()
    # The boat is longer, and the shroud that was renewed came off.
    assert (
        "Undoing takes out 1 part that it added, and puts 1 boat and 1 part back as before it."
    ) in page
    done = post_undo(manager, fleet).content.decode()
    assert "Undone: taken out 1 part; as before 1 boat and 1 part." in done
    assert [kind.objects.count() for kind in kinds] == before


def test_an_accountant_may_not_undo(fleet):
    load(fleet, small())
    reader = signed_in(Boat.objects.first(), "accountant")
    assert post_undo(reader, fleet).status_code == 403


def test_opening_the_address_of_the_undo_undoes_nothing(fleet):
    load(fleet, small())
    manager = signed_in(Boat.objects.first(), "manager")
    assert manager.get(at("import_undo", fleet)).status_code == 405
    assert Boat.objects.exists()


def test_the_refusal_is_shown_in_words_on_the_page(fleet):
    load(fleet, small())
    Installation.objects.standing().update(invoice="R-98")
    manager = signed_in(Boat.objects.first(), "manager")
    page = post_undo(manager, fleet).content.decode()
    assert "Not undone. Of its parts" in page
    assert Boat.objects.exists()
