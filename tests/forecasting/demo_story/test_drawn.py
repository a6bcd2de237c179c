"""What is drawn and written for the demonstration: pictures of signs, the reports of others."""

import io

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from forecasting.demo_story import pdf, pictures
from inspections.photos.redraw import redraw

BARREL = np.s_[pictures.MOUTH : pictures.MOUTH + 60, 400:560]


def pixels(jpeg: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(jpeg)).convert("RGB")).astype(int)


def red(jpeg: bytes) -> float:
    """Return how much redder than blue the mouth of the terminal is."""
    shown = pixels(jpeg)[BARREL]
    return float((shown[..., 0] - shown[..., 2]).mean())


def test_more_rust_is_drawn_redder_and_the_same_picture_twice():
    clean, first, later = (pictures.terminal("Forestay", rust=rust) for rust in (0, 0.25, 0.9))
    assert red(clean) < red(first) < red(later)
    assert pictures.terminal("Forestay", rust=0.9) == later


def test_a_darker_wire_is_drawn_darker():
    alike, dark = (pixels(pictures.wire("Backstay", dark=dark)) for dark in (0, 0.9))
    wire = np.s_[: pictures.HEIGHT - pictures.FOOT, 410:550]
    assert dark[wire].mean() < alike[wire].mean()


@pytest.mark.parametrize("missing", [True, False])
def test_a_picture_is_taken_in_as_a_photo_from_a_phone_is(missing):
    made = redraw(pictures.pin("Lower aft, port", missing=missing))
    assert (made.width, made.height) == (pictures.WIDTH, pictures.HEIGHT)
    assert b"Exif" not in made.jpeg


def test_a_report_is_a_pdf_whose_words_can_be_read():
    written = pdf.page("Rig survey: Måneskinn", ["1. A brown line (port) below 5\\8", "2. Toggle"])
    [page] = PdfReader(io.BytesIO(written), strict=True).pages
    lines = page.extract_text().splitlines()
    assert lines == ["Rig survey: Måneskinn", "1. A brown line (port) below 5\\8", "2. Toggle"]
