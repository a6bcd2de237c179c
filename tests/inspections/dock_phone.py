"""A small fleet served by a process that can be stopped and killed, and a phone before it."""

import json
import os
import signal
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path

from django.db import connection, transaction
from PIL import Image

from fleet.management.commands import serve
from fleet.models import Boat
from tests import builders
from tests.demonstration import DATABASE, PASSWORD, ROOT, _answers, embedded
from tests.services import processes

SIDES = ("port", "starboard")
PAIRED = ("running_backstay", "cap_shroud", "intermediate", "lower_forward", "lower_aft")
# Twelve stays, none inside a foil: the most spots that a look aloft can ask about on such a boat.
TWELVE = [("forestay", ""), ("backstay", ""), *((name, side) for name in PAIRED for side in SIDES)]
THREE = [("forestay", ""), ("cap_shroud", "port"), ("cap_shroud", "starboard")]
# A boat for each test: what one puts on record is not in another's way.
SMALL = ("Plover", "Dunlin", "Curlew", "Godwit")
BOATS = {"Tern": TWELVE, "Skua": TWELVE} | dict.fromkeys(SMALL, THREE)
START_SECONDS = 60
PHONE, DESK = 390, 1280
# A screen hears no tap while it is so new that a thumb's second one may be meant for the last.
HEARS = """async () => {
    const { hears } = await import("/static/dock/double_taps.js");
    while (!hears()) await new Promise((done) => setTimeout(done, 20)); }"""
GROUND = "getComputedStyle(document.documentElement).backgroundColor"


def rig_up(boat: Boat, stays: list[tuple[str, str]]) -> None:
    """Put a wire with its turnbuckle and chainplate on each stay."""
    for stay, side in stays:
        builders.wire(boat, stay, side, pin_mm=16)
        for kind in ("turnbuckle", "chainplate"):
            blank = {"construction": "", "diameter_mm": None, "length_mm": None}
            ends = {"lower_terminal": "", "upper_terminal": ""}
            builders.wire(boat, stay, side, kind=kind, pin_mm=16, **blank, **ends)


def fleet_on_disk(folder: Path) -> None:
    """Write a database of one fleet with its bosun, in the format of the embedded mode.

    Made in the tests' own database and taken back there: what it holds is written down and read
    into the new one, so that no migration runs twice.
    """
    with transaction.atomic():
        fleet = builders.empty_fleet("harbour")
        fleet.as_of = None  # Its day is the server's, as in use.
        fleet.save()
        for name, stays in BOATS.items():
            rig_up(builders.boat(fleet, name), stays)
        for name, role in (("oskar", "bosun"), ("maren", "manager")):
            person = builders.person(name, fleet, role)
            person.first_name, person.last_name = name.capitalize(), "Eikemoen"
            person.set_password(PASSWORD)
            person.save()
        written = "\n".join(connection.connection.iterdump())
        transaction.set_rollback(True)
    with closing(sqlite3.connect(folder / DATABASE)) as database:
        database.executescript(written)
    (folder / "static").mkdir()


@dataclass
class DockServer:
    """The server of the pages on a port of its own, on and off and on again.

    As `manage.py serve` starts it, with one process of pages and without the long work beside it:
    three fewer to start each time.
    """

    folder: Path
    hosts: str = ""
    port: int = field(default_factory=processes.free_port)
    _running: ExitStack = field(default_factory=ExitStack)
    process: object = None

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def on(self) -> None:
        if self.process is not None:
            return
        command = [*serve.pages(f"127.0.0.1:{self.port}"), "--workers", "1"]
        env = embedded(self.folder) | ({"STAYWARD_HOSTS": self.hosts} if self.hosts else {})
        env |= {"PYTHONPATH": str(ROOT), "STAYWARD_PORT": str(self.port)}
        ready = lambda: _answers(self.url)  # noqa: E731
        self.process = self._running.enter_context(
            processes.running(command, self.folder, ready, env=env, seconds=START_SECONDS)
        )

    def off(self) -> None:
        self._running.close()
        self.process = None

    def kill(self) -> None:
        """End it and its children as a power cut would: nothing in hand is finished."""
        for pid in [*descendants(self.process.pid), self.process.pid]:
            os.kill(pid, signal.SIGKILL)
        self.process.wait()
        self.off()

    def ask(self, query: str, *values: object) -> list[tuple]:
        with closing(sqlite3.connect(self.folder / DATABASE)) as database:
            return database.execute(query, values).fetchall()

    def one(self, query: str, *values: object) -> object:
        return self.ask(query, *values)[0][0]

    def change(self, query: str, *values: object) -> None:
        with closing(sqlite3.connect(self.folder / DATABASE)) as database, database:
            database.execute(query, values)


def descendants(pid: int) -> list[int]:
    """Return the processes that this one began, and theirs."""
    listed = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    return [each for child in map(int, listed) for each in (*descendants(child), child)]


@contextmanager
def dock_server(folder: Path, **given) -> Iterator[DockServer]:
    server = DockServer(folder, **given)
    server.on()
    try:
        yield server
    finally:
        server.off()


def picture(width: int = 2400, height: int = 1800) -> dict:
    """Return a photo as a phone's camera hands it to a page, larger than is kept."""
    gradient = Image.linear_gradient("L").resize((width, height))
    noise = Image.effect_noise((width, height), 60)
    made = BytesIO()
    Image.merge("RGB", (gradient, noise, gradient)).save(made, "JPEG", quality=90)
    return {"name": "dock.jpg", "mimeType": "image/jpeg", "buffer": made.getvalue()}


@dataclass
class Phone:
    """A page of the dock, with a count of the taps made on it."""

    page: object
    check: Callable = lambda page: []
    check_colours: Callable = lambda page: []
    taps: int = 0
    faults: list[str] = field(default_factory=list)
    seen: set[str] = field(default_factory=set)

    def open(self) -> "Phone":
        self.page.goto("/harbour/dock/")
        self.page.locator(".boats a").first.wait_for()
        return self

    def ready_for_no_signal(self) -> "Phone":
        self.page.evaluate("navigator.serviceWorker.ready.then(() => 0)")
        self.page.wait_for_function("navigator.serviceWorker.controller !== null")
        return self

    def tap(self, name: str | None = None, role: str = "button", key: str = "", **how) -> "Phone":
        """Tap what carries this name, or what one does next."""
        found = self.page.get_by_role(role, name=name, **how) if name else self.next(key or "next")
        if role == "button":
            found.first.wait_for()
            self.page.evaluate(HEARS)
        found.first.click()
        self.taps += 1
        return self

    def choose(self, boat: str) -> "Phone":
        """Tap a boat in the list of the base, not among what is kept above it."""
        self.page.locator(".boats a", has_text=boat).click()
        self.taps += 1
        return self

    def next(self, key: str):
        return self.page.locator(f"[data-key={key}]")

    def heading(self, words: str) -> "Phone":
        self.page.locator("h1", has_text=words).wait_for()
        return self

    def look(self) -> "Phone":
        """Let axe and the ruler look at what is on the screen, as wide as a phone and a desk, and
        axe at its colours by night.

        At a desk and by night once for each kind of screen.
        """
        where, usual = self.page.locator("h1").inner_text(), self.page.viewport_size
        kind = self.page.locator("#content > div > div").first.get_attribute("class")
        new = kind not in self.seen
        self.seen.add(kind)
        for width in (PHONE, DESK) if new else (PHONE,):
            self.page.set_viewport_size({"width": width, "height": usual["height"]})
            self.faults += [f"{where}, {width}: {fault}" for fault in self.check(self.page)]
        self.page.set_viewport_size(usual)
        self.faults += [f"{where}, by night: {fault}" for fault in (self.by_night() if new else ())]
        return self

    def by_night(self) -> list[str]:
        """Return what cannot be read in the colours of the night, which are others than by day."""
        day = self.page.evaluate(GROUND)
        self.page.emulate_media(color_scheme="dark")
        same = ["the colours of the day"] if self.page.evaluate(GROUND) == day else []
        found = same + self.check_colours(self.page)
        self.page.emulate_media(color_scheme="light")
        return found

    def another_tab(self) -> "Phone":
        page = self.page.context.new_page()
        return Phone(page, self.check, self.check_colours, 0, self.faults, self.seen)

    def kept(self) -> list[dict]:
        """Return the inspections on the phone, as it keeps them."""
        return json.loads(
            self.page.evaluate(
                """import("/static/dock/store.js").then(({ kept }) => kept("harbour"))
                   .then((rows) => JSON.stringify(rows))"""
            )
        )

    def drafts(self) -> dict[str, dict]:
        """Return what was said on each boat; whether it is being sent changes by the clock."""
        return {each["boat"]["name"]: each["draft"] for each in self.kept()}

    def judged(self) -> list[dict]:
        """Return what the phone and what the server says of each part of what was sent last."""
        return self.page.evaluate(
            """async () => {
                 const [store, { verdictsOn }, { criteriaOf }] = await Promise.all(
                   ["store", "meaning", "kit"].map((name) => import(`/static/dock/${name}.js`)));
                 const [entry] = (await store.kept("harbour")).filter((e) => e.state === "sent");
                 const criteria = criteriaOf(await store.kit(`harbour/${entry.base}`));
                 const told = ({ value, reasons, again_by }) => ({ value, reasons, again_by });
                 const here = entry.boat.stays
                   .flatMap((stay) => verdictsOn(entry, stay, criteria, true))
                   .map(({ part, verdict }) => [part.id, told(verdict)]);
                 const there = entry.result.verdicts.map((each) => [each.part, told(each)]);
                 return [Object.fromEntries(here), Object.fromEntries(there)]; }"""
        )

    def post(self, address: str, body: dict) -> dict:
        """Send the same again, as a phone does that never heard the answer."""
        return self.page.evaluate(
            """async ([address, body]) => {
                 const token = /csrftoken=([^;]+)/.exec(document.cookie)[1];
                 const headers = { "Content-Type": "application/json", "X-CSRFToken": token };
                 const given = { method: "POST", headers, body: JSON.stringify(body) };
                 const answer = await fetch(address, given);
                 return { status: answer.status, body: await answer.json() }; }""",
            [address, body],
        )

    def state(self, words: str) -> "Phone":
        self.page.locator(".lead").get_by_text(words, exact=True).wait_for()
        return self

    def sign(self, name: str) -> "Phone":
        """Choose the sign by its drawing, or take it back."""
        card = self.page.locator(".sign-card", has_text=name).first
        card.wait_for()
        self.page.evaluate(HEARS)
        card.click()
        self.taps += 1
        return self

    def onward(self, key: str = "next") -> "Phone":
        """Tap what leads to the next step, and wait until that is on the screen."""
        here = self.page.evaluate("location.hash")
        self.tap(key=key)
        shown = "here => location.hash !== here && content.dataset.shown === location.hash"
        self.page.wait_for_function(shown, arg=here)
        return self

    def at(self, step: str) -> "Phone":
        """Wait until this step is on the screen, where its heading is that of the one before."""
        shown = "step => location.hash.endsWith(step) && content.dataset.shown === location.hash"
        self.page.wait_for_function(shown, arg=f"/{step}")
        return self

    def told_anew(self) -> "Phone":
        """Wait until the boats kept here are those of after what was sent last."""
        self.page.wait_for_function(
            """async () => {
                 const store = await import("/static/dock/store.js");
                 const [entry] = (await store.kept("harbour")).filter((e) => e.state === "sent");
                 const { boats } = await store.kit(`harbour/${entry.base}`);
                 const now = boats.find((boat) => boat.id === entry.boat.id);
                 return now.record !== entry.draft.record; }"""
        )
        return self

    def the_rest_is_clean(self) -> "Phone":
        """Say of every stay still open that all was seen and nothing found, up to the signature."""
        while not self.page.url.endswith("/sign"):
            whole = self.page.locator(".bar [data-key=whole]")
            self.onward("whole" if whole.count() else "next")
        return self.heading(self.page.locator("#boat").inner_text())


def sign_in_here(page, who: str) -> None:
    """Sign in on the page at hand, which then leads back to where one was."""
    page.get_by_label("Name or e-mail").fill(who)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
