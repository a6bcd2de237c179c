"""What goes wrong on a phone: no room, a slow line, the form renewed underneath."""

from collections.abc import Iterator
from contextlib import contextmanager

from tests.inspections.dock_phone import HEARS, Phone, picture

# The second tap comes as soon as the next screen stands: from outside it might come too late.
TWO_TAPS = """() => new Promise((done) => {
    const next = () => document.querySelector("[data-key=next]");
    const how = { bubbles: true, cancelable: true, detail: 1 };
    const tap = () => next().dispatchEvent(new MouseEvent("click", how));
    const content = document.getElementById("content");
    new MutationObserver((changes, watch) => {
      watch.disconnect();
      tap();
      done(); }).observe(content, { attributeFilter: ["data-shown"] });
    tap(); })"""


class FullPhone:
    """The phone's own memory: how much of it the browser lets this page have."""

    def __init__(self, page, origin: str) -> None:
        self._session, self._origin = page.context.new_cdp_session(page), origin

    def leave(self, size: int | None) -> None:
        """Leave so many bytes in all; None for what there is."""
        quota = {} if size is None else {"quotaSize": size}
        self._session.send("Storage.overrideQuotaForOrigin", {"origin": self._origin, **quota})

    def leave_free(self, size: int) -> None:
        usage = self._session.send("Storage.getUsageAndQuota", {"origin": self._origin})
        self.leave(int(usage["usage"]) + size)


class SlowLine:
    """The phone's own radio, slowed down: the server is as it is."""

    def __init__(self, page) -> None:
        self._session = page.context.new_cdp_session(page)

    def set(self, upload: int) -> None:
        line = {"offline": False, "latency": 0, "downloadThroughput": -1}
        self._session.send("Network.emulateNetworkConditions", {**line, "uploadThroughput": upload})

    def restore(self) -> None:
        self.set(-1)


@contextmanager
def slow_upload(page, bytes_a_second: int = 20_000) -> Iterator[SlowLine]:
    """Make a photo take half a minute to send, so that there is a middle of it."""
    line = SlowLine(page)
    line.set(bytes_a_second)
    yield line
    line.restore()


def photograph(phone: Phone, number: int = 1) -> None:
    phone.page.locator(".file").first.set_input_files(picture())
    phone.page.locator(".thumb").nth(number - 1).wait_for()


def keeps_nothing_more(phone: Phone, full: FullPhone) -> None:
    """Fill the phone: neither photo nor tap is kept, each is told at once, the rest stays."""
    phone.page.locator(".found").first.wait_for()  # Tapped last; shown, it is written.
    before = phone.drafts()
    full.leave(1)
    told = phone.page.get_by_role("alert").get_by_text("This phone has no room left")
    phone.page.locator(".file").first.set_input_files(picture())
    told.wait_for()
    phone.page.evaluate("document.querySelector('[role=alert]').remove()")
    phone.sign("Crack along the barrel")
    told.wait_for()
    assert phone.drafts() == before


def renewed_meanwhile(phone: Phone) -> None:
    """Have another worker take over: the draft goes on; between two boats the page is renewed."""
    phone.page.evaluate(
        """async () => {
             self.old = true;
             const taken = new Promise((done) => {
               navigator.serviceWorker.addEventListener("controllerchange", done); });
             const worker = document.getElementById("content").dataset.worker;
             await navigator.serviceWorker.register(`${worker}?renewed`, { scope: "./" });
             await taken; }"""
    )
    rust = phone.sign("Rust at the mouth").page.locator(".found", has_text="Rust at the mouth")
    rust.wait_for()
    phone.sign("Rust at the mouth")
    rust.wait_for(state="detached")
    phone.tap("All stays", role="link").heading("Curlew")
    assert phone.page.evaluate("self.old")
    phone.tap("Leave it for now", role="link")
    phone.page.wait_for_function("() => !self.old")
    phone.heading("Which boat?")


def a_slip_is_taken_back(phone: Phone) -> None:
    """Tap what leads on twice, as a wet thumb does; then take back what was said of that step."""
    phone.page.evaluate(HEARS)
    phone.page.evaluate(TWO_TAPS)
    phone.page.evaluate(HEARS)
    phone.heading("Forestay: wire").page.get_by_role("link", name="Back").click()
    phone.page.get_by_text("You said: seen, nothing found.").wait_for()
    phone.look().page.get_by_role("button", name="Take it back").click()
    phone.page.get_by_text("You said").wait_for(state="detached")
    draft = phone.kept()[0]["draft"]
    assert (draft["seen"], draft["sights"]) == ([], [])
