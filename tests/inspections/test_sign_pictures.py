"""The sheet of pictures: one for every sign, plain drawing and nothing else, and it is seen."""

import io
import re
import xml.etree.ElementTree as ET
from collections import Counter
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from django.conf import settings
from PIL import Image
from playwright.sync_api import expect

from inspections.criteria import DEFAULT
from tests import builders
from tests.inspections.docks import address, day, inspect, part, rigged_boat, saw

SHEET = Path(settings.BASE_DIR) / "fleet" / "static" / "signs.svg"
SVG = "{http://www.w3.org/2000/svg}"
ATTENTION = "var(--attention,#a30f58)"
DRAWING = {"svg", "defs", "g", "symbol", "use", "path", "circle", "rect", "ellipse"}
COLOURS = {"none", "currentColor", ATTENTION}
PHONE, DESK = 390, 1280
LIGHT_INK, LIGHT_MARK = (0x16, 0x24, 0x3C), (0xA3, 0x0F, 0x58)
DARK_INK, DARK_MARK = (0xD9, 0xD3, 0xC3), (0xF0, 0x8C, 0xC0)


@pytest.fixture(scope="module")
def sheet() -> ET.Element:
    return ET.fromstring(SHEET.read_text())


def symbols(sheet: ET.Element) -> list[str]:
    return [each.get("id") for each in sheet.iter(f"{SVG}symbol")]


def faults(sheet: ET.Element) -> list[str]:
    """Return what a drawing may not hold: other elements, handlers, styles, foreign addresses."""
    ids = {each.get("id") for each in sheet.iter()}
    found = []
    for each in sheet.iter():
        tag = each.tag.removeprefix(SVG)
        found += [tag] if tag not in DRAWING else []
        for name, value in each.attrib.items():
            plain = name.rsplit("}", 1)[-1]
            bad = plain == "style" or plain.startswith("on") or "url(" in value
            bad |= plain == "href" and value.removeprefix("#") not in ids - {value}
            bad |= plain in ("fill", "stroke") and value not in COLOURS
            found += [f"{tag} {name}={value}"] if bad else []
    return found


def test_every_sign_has_one_picture_and_no_picture_is_without_a_sign(sheet):
    assert Counter(symbols(sheet)) == Counter(f"sign-{code}" for code in DEFAULT)


def test_the_sheet_draws_and_does_nothing_else(sheet):
    assert faults(sheet) == []


@pytest.mark.parametrize(
    "planted",
    [
        "<script/>", "<style/>", "<foreignObject/>", "<image href='x.png'/>", "<text>7x7</text>",
        "<path style='fill:red'/>", "<path onload='f()'/>", "<path fill='red'/>",
        "<use href='other.svg#p-eye'/>", "<use href='#p-nothing'/>", "<g clip-path='url(#c)'/>",
    ],
)  # fmt: skip
def test_what_a_drawing_may_not_hold_is_noticed(planted):
    text = f'<svg xmlns="http://www.w3.org/2000/svg"><path id="p-eye"/>{planted}</svg>'
    assert faults(ET.fromstring(text))


def test_every_picture_is_drawn_in_ink_and_marks_its_sign_for_attention(sheet):
    for symbol in sheet.iter(f"{SVG}symbol"):
        assert symbol.get("viewBox") == "0 0 96 56"
        assert symbol.get("stroke") == "currentColor"
        marks = [each for each in symbol.iter(f"{SVG}g") if each.get("class") == "mark"]
        assert marks, symbol.get("id")
        assert all(ATTENTION in (mark.get("fill"), mark.get("stroke")) for mark in marks)


def test_the_grooves_of_laid_wire_fall_to_the_right(sheet):
    """Right-hand lay (Z in ISO 17893 and ISO 2408): along a wire across the page, as in an N."""
    [strand] = [each for each in sheet.iter(f"{SVG}g") if each.get("id") == "p-strand"]
    grooves = re.findall(r"l(-?[\d.]+) (-?[\d.]+)", strand[1].get("d"))
    assert len(grooves) > 5
    assert all(float(along) > 0 < float(down) for along, down in grooves)


def near(picture: np.ndarray, colour: tuple[int, int, int]) -> int:
    """Return how many pixels are about that colour."""
    return int((np.abs(picture.astype(int) - colour).max(axis=2) < 40).sum())


def differ(one: np.ndarray, other: np.ndarray) -> int:
    """Return how many pixels of two pictures are plainly not the same."""
    return int((np.abs(one.astype(int) - other).max(axis=2) > 60).sum())


def pictures(page) -> dict[str, np.ndarray]:
    """Return code -> its picture as the page shows it, cut out of one screenshot."""
    boxes = page.evaluate(
        """() => Object.fromEntries([...document.querySelectorAll("svg.sign")].map(each => {
        const box = each.getBoundingClientRect();
        return [each.querySelector("use").href.baseVal.split("#sign-")[1],
                [box.left, box.top + scrollY, box.right, box.bottom + scrollY].map(Math.round)];
        }))"""
    )
    whole = Image.open(io.BytesIO(page.screenshot(full_page=True))).convert("RGB")
    return {code: np.array(whole.crop(box).resize((144, 84))) for code, box in boxes.items()}


@pytest.mark.parametrize(
    ("scheme", "ink", "mark"), [("light", LIGHT_INK, LIGHT_MARK), ("dark", DARK_INK, DARK_MARK)]
)
def test_under_the_strict_policy_every_picture_is_seen_and_none_looks_like_another(
    live_server, page_at, transactional_db, scheme, ink, mark
):
    fleet = builders.empty_fleet("harbour")
    page = page_at(DESK, user=builders.person("bo", fleet, "bosun"), color_scheme=scheme)
    response = page.goto(f"/{fleet.slug}/signs/")
    assert "default-src 'none'" in response.headers["content-security-policy"]
    page.wait_for_load_state("networkidle")
    seen = pictures(page)
    assert set(seen) == set(DEFAULT)
    for code, picture in seen.items():
        assert near(picture, mark) > 25, f"{code}: no attention to see"
        if code != "not_sure":  # Its part is only hinted at.
            assert near(picture, ink) > 60, f"{code}: no part to see"
    alike = [
        (one, other) for one, other in combinations(seen, 2) if differ(seen[one], seen[other]) < 80
    ]
    assert alike == []


def test_a_finding_shows_its_picture_on_the_inspection_and_in_what_to_look_for(
    live_server, page_at, transactional_db
):
    boat = rigged_boat()
    look = inspect(
        boat, day(0), saw(part(boat), "wire_kink", "run"), saw(part(boat), "dull_surface", "run"),
        saw(None, "lightning", "whole_rig"),
    )  # fmt: skip
    page = page_at(PHONE, user=builders.person("bo", boat.fleet, "bosun"))
    page.goto(address(boat, "inspection", look.pk))
    row = page.locator("tr", has_text="kink or permanent bend")
    assert row.locator("use[href$='#sign-wire_kink']").count() == 1
    assert row.locator("use[href$='#sign-dull_surface']").count() == 1
    assert page.locator("use[href$='#sign-lightning']").count() == 1
    page.goto(address(boat, "inspect", boat.pk) + "?level=aloft")
    page.get_by_text("What to look for, and the limits").click()
    shown = page.locator("use[href$='#sign-barrel_crack_across']")
    expect(shown).to_be_visible()
    assert shown.bounding_box()["width"] > 60
