"""Take the pictures of the README anew: ``python -m tests.pictures``. About a minute.

The demonstration is made afresh in a folder of its own, served by its own command, and opened in
Chromium by its manager. Its day is fixed, so that the pictures change only with the pages.
"""

import io
import os
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path

from PIL import Image  # comes with matplotlib
from playwright.sync_api import Page, sync_playwright

from tests.demonstration import ROOT, Served, manage, served, sign_in
from tests.services import chromium

PICTURES = ROOT / "fixtures" / "pictures"
WIDTH = 1280
PHONE = {"width": 390, "height": 940}
COLOURS = 96  # Enough for lines, letters and four tints; a third of the bytes.
EDGE, SHEET, LINE = 24, "#e7e2d3", "#1c2a44"
ON_THE_DOCK = "Velvet Moonrise"
# A boat with a wire to be replaced, so that its drawing shows one.
HELD = """SELECT b.id FROM fleet_boat b JOIN fleet_fleet f ON f.id = b.fleet_id
    JOIN fleet_stay s ON s.boat_id = b.id JOIN fleet_installation i ON i.stay_id = s.id
    WHERE f.slug = 'vessmark' AND i.kind = 'wire' AND i.condemned_on IS NOT NULL
    AND i.removed_on IS NULL ORDER BY b.name LIMIT 1"""

BOARD = """SELECT p.id FROM forecasting_yardplan p JOIN fleet_fleet f ON f.id = p.fleet_id
    WHERE f.slug = 'vessmark' ORDER BY p.id LIMIT 1"""
BASE = """SELECT b.id FROM fleet_base b JOIN fleet_fleet f ON f.id = b.fleet_id
    WHERE f.slug = 'vessmark' ORDER BY b.name LIMIT 1"""


def shots(server: Served) -> dict[str, tuple[str, int]]:
    """Return name -> (address, height in px) of each picture."""
    return {
        "boats": ("/vessmark/boats/", 860),
        "boat": (f"/vessmark/boats/{server.one(HELD)}/", 1000),
        "budget": ("/vessmark/budget/", 900),
        "yard": (f"/vessmark/refit/yard/{server.one(BOARD)}/#base-{server.one(BASE)}", 780),
    }


def take(page: Page, server: Served, folder: Path) -> list[Path]:
    """Write each picture into the folder; return their paths."""
    sign_in(page, "maren")
    written = []
    for name, (address, height) in shots(server).items():
        page.set_viewport_size({"width": WIDTH, "height": height})
        page.goto(address)
        for chart in page.locator(".chart").all():
            chart.locator("svg").wait_for()
        path = folder / f"{name}.png"
        path.write_bytes(smaller(page.screenshot()))
        written.append(path)
    page.set_viewport_size(PHONE)
    path = folder / "dock.png"
    path.write_bytes(smaller(side_by_side(on_the_dock(page))))
    return [*written, path]


def on_the_dock(page: Page) -> Iterator[bytes]:
    """Yield screens of the form on a phone: how far one looks, a stay, a sign and its verdict."""
    page.goto("/vessmark/dock/")
    page.locator(".boats a", has_text=ON_THE_DOCK).click()
    page.locator("h1", has_text=ON_THE_DOCK).wait_for()
    page.mouse.move(0, 0)
    yield page.screenshot()
    page.get_by_role("button", name="Deck check").click()
    page.locator("h1", has_text="lower end").wait_for()
    yield page.screenshot()
    card = page.locator(".sign-card", has_text="Rust at the mouth").first
    card.click()
    page.get_by_role("radio", name="It stayed").click()
    page.locator(".shortly", has_text="replace").wait_for()
    card.evaluate("each => scrollBy(0, each.getBoundingClientRect().top - 12)")
    page.mouse.move(0, 0)
    yield page.screenshot()


def side_by_side(screens: Iterable[bytes]) -> bytes:
    """Return the screens of a phone on one sheet as wide as the other pictures."""
    shown = [Image.open(io.BytesIO(screen)) for screen in screens]
    sheet = Image.new("RGB", (WIDTH, PHONE["height"] + 2 * EDGE), SHEET)
    apart = (WIDTH - len(shown) * PHONE["width"]) // (len(shown) + 1)
    for number, screen in enumerate(shown):
        at = apart + number * (PHONE["width"] + apart), EDGE
        sheet.paste(
            LINE, (at[0] - 1, at[1] - 1, at[0] + screen.width + 1, at[1] + screen.height + 1)
        )
        sheet.paste(screen, at)
    packed = io.BytesIO()
    sheet.save(packed, "PNG")
    return packed.getvalue()


def smaller(png: bytes) -> bytes:
    """Return a PNG in few colours."""
    packed = io.BytesIO()
    image = Image.open(io.BytesIO(png)).convert("RGB")
    image.quantize(COLOURS, dither=Image.Dither.NONE).save(packed, "PNG", optimize=True)
    return packed.getvalue()


def opened(chrome, server: Served) -> Page:
    """Return a page by daylight, at the width of the pictures."""
    context = chrome.new_context(base_url=server.url, color_scheme="light")
    return context.new_page()


def main() -> None:
    with tempfile.TemporaryDirectory(prefix="stayward-pictures-") as name:
        folder = Path(name) / "var"
        done = manage(folder, "demo", "--no-serve")
        if done.returncode:
            raise SystemExit(done.stdout + done.stderr)
        with served(folder) as server, sync_playwright() as playwright:
            chrome = playwright.chromium.launch(
                executable_path=chromium.find(), args=chromium.arguments()
            )
            for path in take(opened(chrome, server), server, PICTURES):
                print(f"{path.relative_to(ROOT)}  {path.stat().st_size / 1024:.0f} KB")
            chrome.close()


if __name__ == "__main__":
    os.chdir(ROOT)
    main()
