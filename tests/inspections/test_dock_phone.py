"""The inspection on the dock as a bosun does it: real phone browser, real server, no signal."""

import datetime as dt

import pytest
from playwright.sync_api import expect

from tests.demonstration import sign_in
from tests.inspections.dock_phone import (
    PHONE,
    Phone,
    dock_server,
    fleet_on_disk,
    picture,
    sign_in_here,
)
from tests.inspections.phone_trouble import (
    FullPhone,
    a_slip_is_taken_back,
    keeps_nothing_more,
    photograph,
    renewed_meanwhile,
    slow_upload,
)
from tests.services import chromium
from tests.test_pages import too_small, too_wide

CLEAN_FROM_THE_DECK = 16
A_PHOTO_AND_TAPS = 1_300_000  # Bytes: less than two photos.
CLEAN_IN_TAPS = 40  # Aim of the product: a clean boat of twelve stays, every spot of it said seen.

# The fleet is made in the tests' database, and served from a copy.
pytestmark = [pytest.mark.only_on("sqlite"), pytest.mark.django_db]

LOOKS = "SELECT count(*) FROM inspections_inspection"
SENT = "SELECT count(*) FROM inspections_dockupload"
PLAIN_HOST = "dock.example"  # RFC 2606; without HTTPS, no browser trusts it as it does localhost.
STATE = "SELECT state FROM inspections_dockupload WHERE id = ?"
MEMBERS = """SELECT m.* FROM fleet_membership m JOIN auth_user u ON u.id = m.user_id
    WHERE u.username = 'oskar'"""
PHOTOS = "SELECT width, height, finding_id IS NOT NULL FROM inspections_photo"


@pytest.fixture(scope="module")
def dock(django_db_setup, django_db_blocker, tmp_path_factory):
    folder = tmp_path_factory.mktemp("dock")
    with django_db_blocker.unblock():
        fleet_on_disk(folder)
    with dock_server(folder, hosts=f"127.0.0.1,localhost,{PLAIN_HOST}") as running:
        yield running


@pytest.fixture(scope="module")
def sessions() -> dict[str, dict]:
    """Who has signed in before in this module: the browser's state, name by name."""
    return {}


@pytest.fixture
def server(dock):
    dock.on()
    return dock


@pytest.fixture
def phone_of(page_at, server, sessions, accessibility_faults):
    """Return `phone_of(who)`: a phone on the dock's page, signed in (as before, unless `fresh`)."""

    def check(page) -> list[str]:
        return accessibility_faults(page) + too_wide(page) + too_small(page)

    def of(who: str, fresh: bool = False, before=lambda page: None) -> Phone:
        known = None if fresh else sessions.get(who)
        page = page_at(PHONE, height=844, base_url=server.url, storage_state=known)
        if known is None:
            sign_in(page, who)
        if not fresh:
            sessions.setdefault(who, page.context.storage_state())
        before(page)
        return Phone(page, check, lambda page: accessibility_faults(page, "color-contrast")).open()

    return of


@pytest.fixture
def phone(phone_of):
    return phone_of("oskar")


def test_a_clean_boat_of_twelve_stays_takes_forty_taps_at_most(phone, server):
    before = server.one(LOOKS)
    phone.tap("Tern", role="link").heading("Tern")
    phone.tap("Aloft").heading("lower end")
    a_slip_is_taken_back(phone)
    while "/boat" not in phone.page.url:
        phone.onward()
    phone.heading("The mast and the boat").tap().heading("aloft").tap().state("sent")
    assert phone.taps <= CLEAN_IN_TAPS
    assert server.one(LOOKS) == before + 1
    spots = "SELECT count(*) FROM inspections_partverdict WHERE value = 'keep' AND upper = 'good'"
    assert server.one(spots) == 12
    assert server.one("SELECT count(*) FROM inspections_finding WHERE sign = 'not_seen'") == 0

    phone.told_anew().taps = 0
    phone.tap("Next boat", role="link").choose("Tern").tap("Deck check")
    phone.heading("lower end").the_rest_is_clean().tap().state("sent")
    assert phone.taps - 1 == CLEAN_FROM_THE_DECK


def test_an_inspection_without_signal_loses_nothing_and_is_sent_once(phone, server):
    looks, sent = server.one(LOOKS), server.one(SENT)
    phone.look().ready_for_no_signal()
    server.off()
    phone.tap("Skua", role="link").heading("Skua").look()
    phone.tap("Aloft").heading("Forestay: lower end").look()
    phone.sign("Rust at the mouth").tap("It stayed", role="radio")
    phone.page.locator(".shortly", has_text="replace").wait_for()
    phone.page.locator(".file").first.set_input_files(picture())
    phone.page.locator(".thumb").wait_for()
    phone.look()
    draft = phone.kept()[0]["draft"]
    assert [each["cleaned"] for each in draft["sights"]] == [False]

    closed, tab = phone.page, phone.another_tab()
    closed.close()
    tab.open().look()
    tab.tap("Skua", role="link").heading("Forestay: lower end")
    assert tab.page.locator(".cards .found strong").inner_text().startswith("Rust at the mouth")
    tab.tap().heading("Lower forward, starboard: lower end")  # The forestay's top is skipped.
    tab.tap("Could not see it").look().tap("Tape or boot not taken off")
    tab.heading("Lower forward, starboard: wire").tap("All stays", role="link")
    tab.page.get_by_text("lower end not seen").wait_for()
    tab.look().onward().the_rest_is_clean().look()
    tab.tap().state("waiting for signal").look()
    assert tab.kept()[0]["draft"]["id"] == draft["id"]

    other, answered = tab.another_tab(), []
    for each in (tab, other):
        each.page.on("response", lambda response: answered.append(response.request))
    server.on()
    other.open()
    tab.page.evaluate("dispatchEvent(new Event('online'))")
    tab.state("sent").look()
    posts = [each.url for each in answered if each.method == "POST"]
    assert [url.split("/")[-2] for url in posts] == ["photos", "send"]
    assert (server.one(LOOKS), server.one(SENT)) == (looks + 1, sent + 1)
    assert server.ask(PHOTOS) == [(1600, 1200, 1)]
    here, there = tab.judged()
    assert here == there
    tab.told_anew().open().choose("Skua").tap("Deck check").heading("Forestay: lower end")
    tab.page.locator(".caution", has_text="The wire was condemned on").wait_for()
    tab.look()
    assert tab.faults == []


def test_a_server_killed_in_the_middle_of_an_upload_records_it_once(phone, server):
    looks = server.one(LOOKS)
    phone.tap("Plover", role="link").tap("Deck check").heading("lower end")
    phone.sign("Rust at the mouth")
    phone.page.locator(".file").first.set_input_files(picture())
    phone.page.locator(".thumb").wait_for()
    phone.the_rest_is_clean()
    with slow_upload(phone.page) as line:
        with phone.page.expect_request("**/dock/photos/"):
            phone.tap()
        server.kill()
        phone.state("waiting for signal").page.get_by_text("No signal").first.wait_for()
        line.restore()
    assert server.one(LOOKS) == looks
    server.on()
    phone.page.evaluate("dispatchEvent(new Event('online'))")
    phone.state("sent")
    assert server.one(LOOKS) == looks + 1

    draft = phone.kept()[0]["draft"]
    again = [phone.post("send/", draft) for _ in range(2)]
    assert again[0] == again[1], "told the same as the first time"
    assert (again[0]["status"], again[0]["body"]["inspection"]) == (
        200,
        server.one(LOOKS.replace("count(*)", "max(id)")),
    )
    assert server.one(LOOKS) == looks + 1

    phone.told_anew().tap("Next boat", role="link").choose("Plover").tap("Aloft")
    last = phone.heading("lower end").page.locator(".last img")
    phone.page.wait_for_function("photo => photo.naturalWidth > 0", arg=last.element_handle())


def test_what_a_person_has_to_decide_is_said_in_words_and_nothing_is_lost(phone, phone_of, server):
    phone.tap("Dunlin", role="link").tap("Deck check").heading("lower end")
    phone.tap("Not sure: a rigger to look").the_rest_is_clean()

    manager = phone_of("maren")
    manager.tap("Dunlin", role="link").tap("Turn-round check").heading("Dunlin").look()
    manager.tap("Cap shroud, port", role="link").heading("Cap shroud, port: lower end")
    manager.page.get_by_text("Turnbuckle (rigging screw)").click()
    manager.sign("Turnbuckle not locked")
    manager.page.locator(".shortly", has_text="make good").wait_for()
    manager.tap().heading("Dunlin").tap("The other 2 stays seen, nothing found").at("sign")
    manager.look().tap().state("sent").look()
    assert server.one("SELECT count(*) FROM inspections_hold WHERE cause = 'make_good'") == 1
    here, there = manager.judged()
    assert here == there

    phone.page.reload()  # With signal it hears of the other look before it sends its own.
    phone.page.get_by_text("Something was put on record for this boat").wait_for()
    phone.tap().state("needs a person").look()
    phone.page.get_by_text("Nothing was merged and nothing is lost").wait_for()
    with phone.page.expect_navigation():
        phone.tap("Decide it", role="link")
    expect(phone.page.get_by_text("Dunlin").first).to_be_visible()
    assert phone.faults + manager.faults == []


def test_signed_out_nothing_is_sent_and_signing_in_sends_it(phone_of, server):
    phone, looks = phone_of("oskar", fresh=True), server.one(LOOKS)
    phone.tap("Curlew", role="link").tap("Turn-round check").heading("Curlew")
    phone.tap("Every lower end seen, nothing found").at("sign")
    assert phone.taps == 3, "and one to sign: four in all"
    phone.tap("All stays", role="link").at("all")
    phone.tap("Sign out").page.get_by_text("An inspection waits on this phone").wait_for()
    phone.look().tap("Next: sign").at("sign")
    phone.page.context.clear_cookies()
    phone.tap().state("waiting for signal").look()
    phone.tap("Sign in again", role="link")
    sign_in_here(phone.page, "oskar")
    phone.page.locator(".kept").get_by_text("sent", exact=True).wait_for()
    assert server.one(LOOKS) == looks + 1
    with phone.page.expect_navigation():
        phone.tap("Sign out")  # Nothing waits: no question, and nothing of the fleet stays behind.
    assert phone.page.url.endswith("/account/login/")
    gone = "Promise.all([indexedDB.databases(), caches.keys()]).then((all) => !all.flat().length)"
    phone.page.wait_for_function(f"() => {gone}")
    assert phone.faults == []


def test_a_second_window_follows_what_is_typed_is_kept_and_a_draft_goes_only_after_a_question(
    phone,
):
    phone.tap("Curlew", role="link").tap("Aloft").heading("Forestay: lower end")
    other = phone.another_tab().open()
    other.tap("Curlew", role="link").heading("Forestay: lower end")
    phone.sign("Crack across the barrel")
    other.page.locator(".found", has_text="Crack across the barrel").wait_for()
    renewed_meanwhile(other)
    other.page.close()
    phone.page.get_by_text("Wire near the end").click()
    phone.sign("Notches cut").page.get_by_label("Depth of the deepest notch, mm").fill("0,05")
    phone.tap().heading("Cap shroud, starboard: lower end")
    assert [each["measure"] for each in phone.kept()[0]["draft"]["sights"]] == [None, 0.05]
    phone.tap("All stays", role="link").heading("Curlew").tap("Delete this draft").look()
    phone.tap("Keep it").tap("Delete this draft").tap("Delete it").heading("Which boat?")
    assert phone.kept() == []
    assert phone.faults == []


def test_what_the_server_finds_wrong_is_put_right_at_its_stay_and_sent_under_the_same_id(
    phone_of, server
):
    """On a phone whose clock is a week ahead, by somebody who is put out of the fleet meanwhile."""
    week_ahead = dt.datetime.now(dt.UTC) + dt.timedelta(days=7)
    phone = phone_of("oskar", before=lambda page: page.clock.set_fixed_time(week_ahead))
    phone.tap("Godwit", role="link").heading("Godwit")
    phone.page.get_by_text("This phone's clock is 7 days ahead of the server's.").wait_for()
    phone.tap("Deck check").heading("Forestay: lower end")
    phone.page.get_by_text("Wire near the end").click()
    phone.sign("Notches cut").page.get_by_label("Depth of the deepest notch, mm").fill("9999999")
    phone.the_rest_is_clean().look()
    members = server.ask(MEMBERS)
    server.change("DELETE FROM fleet_membership WHERE user_id = ?", members[0][2])
    phone.tap().state("needs a person")
    phone.page.get_by_text("This fleet is not open to who is signed in here.").wait_for()
    server.change("INSERT INTO fleet_membership VALUES (?, ?, ?, ?)", *members[0])
    phone.tap("Send it as it is").page.locator(".faults").wait_for()
    phone.state("needs a person").look()
    fault = phone.page.locator(".faults").inner_text()
    assert fault.startswith("Forestay, lower end: This is more than can be")
    draft = phone.kept()[0]["draft"]
    phone.tap("Put it right").heading("Forestay: lower end").look()
    phone.page.get_by_role("alert").get_by_text("This is more than can be").wait_for()
    phone.page.get_by_label("Depth of the deepest notch, mm").fill("0.1")
    phone.tap().heading("Godwit").tap().state("sent")
    assert server.ask(STATE, draft["id"].replace("-", "")) == [("recorded",)]
    days = server.ask('SELECT "on", date(recorded_at) FROM inspections_inspection ORDER BY id DESC')
    assert days[0][0] == draft["on"] < week_ahead.date().isoformat()
    assert abs(dt.date.fromisoformat(days[0][0]) - dt.date.fromisoformat(days[0][1])).days <= 1
    assert phone.faults == []


def test_a_full_phone_says_so_at_once_and_loses_nothing_it_has(phone_of, server):
    full = []

    def fill(page) -> None:
        full.append(FullPhone(page, server.url))
        full[0].leave(1)

    looks = server.one(LOOKS)
    phone = phone_of("oskar", before=fill)
    phone.page.get_by_text("This browser would not keep the page").wait_for()
    phone.page.get_by_text("no room left to keep these boats").wait_for()
    phone.look().tap("Godwit", role="link").tap("Aloft")
    phone.page.get_by_role("alert").get_by_text("This phone has no room left").wait_for()
    phone.heading("Godwit")
    full[0].leave_free(A_PHOTO_AND_TAPS)
    phone.tap("Aloft").heading("Forestay: lower end").sign("Rust at the mouth")
    photograph(phone)
    keeps_nothing_more(phone, full[0])
    phone.heading("Forestay: lower end").look()
    full[0].leave_free(A_PHOTO_AND_TAPS)
    photograph(phone, 2)
    phone.the_rest_is_clean().page.context.set_offline(True)
    phone.tap().state("waiting for signal")

    phone.tap("Next boat", role="link").choose("Curlew").tap("Aloft").heading("Forestay: lower end")
    phone.sign("Rust at the mouth")
    keeps_nothing_more(phone, full[0])
    phone.page.context.set_offline(False)  # What waits is sent all the same, and makes room.
    phone.page.wait_for_function("() => !document.querySelector('#signal').textContent.match(/2/)")
    assert server.one(LOOKS) == looks + 1
    assert [each["boat"]["name"] for each in phone.kept()] == ["Curlew"]
    assert phone.faults == []


def test_without_https_the_form_says_that_it_needs_signal_and_works(browser, server):
    arguments = [*chromium.arguments(), f"--host-resolver-rules=MAP {PLAIN_HOST} 127.0.0.1"]
    plain = browser.browser_type.launch(executable_path=chromium.find(), args=arguments)
    page = plain.new_page(base_url=f"http://{PLAIN_HOST}:{server.port}")
    sign_in(page, "oskar")
    phone = Phone(page).open()
    phone.page.get_by_text("this form needs signal").wait_for()
    phone.tap("Curlew", role="link").tap("Deck check").heading("lower end")
    phone.sign("Crack along the barrel").page.locator(".shortly").wait_for()
    phone.open().tap("Curlew", role="link").heading("Forestay: lower end")
    expect(phone.page.locator(".found")).to_have_count(1)
    plain.close()
