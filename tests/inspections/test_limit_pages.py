"""The page "Signs and limits" and the form that changes one: who may, in what words."""

import html
import json

import pytest
from playwright.sync_api import expect

from inspections.criteria import DEFAULT, KINDS
from inspections.criteria.changes import may_change
from inspections.limits import versions
from inspections.models import CriteriaVersion
from tests import builders
from tests.inspections.docks import address, day, held, read, signed_in
from tests.inspections.limit_forms import TODAY, ask, drawn_out, rigged_with_backstay, words_of


@pytest.fixture
def boat(db):
    return rigged_with_backstay()


@pytest.fixture
def manager(boat):
    return signed_in(boat, "manager")


def test_loosening_is_said_in_words_and_is_not_written_until_somebody_says_they_read_it(
    boat, manager
):
    page = words_of(ask(manager, boat, "wire_drawn_out", limit="2"))
    assert "This is looser than the rule as it is." in page
    assert "stays condemned and its boat stays held" in page
    assert "read what it says, tick it" in page
    assert not CriteriaVersion.objects.exists()
    assert ask(manager, boat, "wire_drawn_out", limit="2", understood="on").status_code == 302


def test_the_page_tells_who_changed_what_when_and_why(boat, manager):
    before = read(manager, address(boat, "signs"))
    assert "Nothing was changed yet." in before
    ask(manager, boat, "wire_drawn_out", limit="0.5")
    page = " ".join(html.unescape(read(manager, address(boat, "signs"))).split())
    for words in (
        "1 of them by the fleet's own rule", "The fleet's own since 14 Oct 2026.",
        "from 0.5 mm", "1 mm</td>", "0.5 mm</span>", "agreed with our rigger",
        "manager-harbour", "entered 14 Oct 2026",
    ):  # fmt: skip
        assert words in page


def test_a_rule_taken_back_to_the_books_is_no_longer_the_fleets_own(boat, manager):
    ask(manager, boat, "wire_drawn_out", limit="0.5")
    ask(manager, boat, "wire_drawn_out", limit="1", understood="on")
    made = versions.decisions(boat.fleet)
    assert len(made) == 2
    assert versions.own_since(made, TODAY) == {}


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"limit": "0"}, "must be above 0"),
        ({"limit": "-1"}, "greater than or equal to 0"),
        ({"limit": "nan"}, "Enter a number"),
        ({"limit": "1e9"}, "at most 10,000"),
        ({"limit": "a bit"}, "Enter a number"),
        ({"limit": ""}, "A limit once set is not taken away"),
        ({"again_days": "0"}, "greater than or equal to 1"),
        ({"again_days": "99999"}, "less than or equal to 1830"),
        ({"again_days": ""}, "after how many days"),
        ({"limit": "0.5", "since": "soon"}, "Enter a valid date"),
        ({"limit": "0.5", "reason": " "}, "whoever reads the verdict will ask"),
        ({}, "Nothing is different from the rule as it is"),
    ],
)
def test_bad_input_gets_a_sentence_and_keeps_what_was_typed(boat, manager, given, sentence):
    page = words_of(ask(manager, boat, "wire_drawn_out", **given))
    assert sentence in page
    if "reason" not in given:
        assert "agreed with our rigger" in page
    assert not CriteriaVersion.objects.exists()


def test_counted_things_are_whole_and_a_verdict_that_asks_for_a_look_says_when(boat, manager):
    assert "Whole wires only" in words_of(ask(manager, boat, "broken_wire", limit="1.5"))
    page = words_of(ask(manager, boat, "dull_surface", outcome="watch"))
    assert "say after how many days" in page
    done = ask(manager, boat, "dull_surface", outcome="watch", again_days="90")
    assert done.status_code == 302
    milder = words_of(ask(manager, boat, "lock_missing", outcome="keep"))
    assert "is not one of the available choices" in milder


def test_every_member_reads_the_page_and_only_a_manager_changes(boat, manager):
    for role in ("bosun", "accountant"):
        client = signed_in(boat, role)
        page = read(client, address(boat, "signs"))
        assert "sign_change" not in page
        assert "signs/change" not in page
        assert client.get(f"{address(boat, 'sign_change')}?sign=notch").status_code == 403
        assert ask(client, boat, "notch", limit="0.2").status_code == 403
    assert "signs/change/?sign=notch" in read(manager, address(boat, "signs"))
    assert manager.get(f"{address(boat, 'sign_change')}?sign=nothing").status_code == 404
    assert not CriteriaVersion.objects.exists()


def test_every_sign_that_can_be_changed_has_a_form_that_opens(boat, manager):
    for code, sign in DEFAULT.items():
        page = read(manager, f"{address(boat, 'sign_change')}?sign={code}")
        asks = any(f'name="{name}"' in page for name in ("limit", "outcome", "again_days"))
        assert asks == may_change(sign), code


def test_stored_criteria_are_plain_json_of_known_kinds(boat, manager):
    ask(manager, boat, "wire_drawn_out", limit="0.5")
    stored = json.loads(json.dumps(CriteriaVersion.objects.get().data))
    assert {kind for sign in stored["signs"] for kind in sign["kinds"]} <= set(KINDS)


# -- in a browser


@pytest.mark.parametrize("width", [390, 1280])
def test_a_manager_loosens_a_limit_after_reading_what_it_would_have_changed(
    live_server, page_at, accessibility_faults, transactional_db, width
):
    boat = rigged_with_backstay()
    drawn_out(boat, day(0), 1.5)
    page, faults = page_at(width, user=builders.person("mara", boat.fleet)), []

    def look() -> None:
        faults.extend(accessibility_faults(page))
        assert page.evaluate("document.documentElement.scrollWidth") <= width

    page.goto(address(boat, "signs"))
    look()
    page.get_by_role("link", name="Change Wire drawn out of the body").click()
    page.get_by_label("Limit for length of wire drawn out").fill("2")
    page.get_by_label("Why").fill("our rigger's rule")
    page.get_by_role("button", name="Show what it would have changed").click()
    expect(page.get_by_text("This is looser than the rule as it is.")).to_be_visible()
    expect(page.get_by_text("1 of 3 standing verdicts would be different")).to_be_visible()
    look()
    page.get_by_label("I have read what this loosens").check()
    page.get_by_role("button", name="Put it in force").click()
    expect(page.get_by_text("limit 1 mm → 2 mm, in force from 14 Oct 2026")).to_be_visible()
    look()
    assert faults == []
    assert held(boat) == ["replace"]
