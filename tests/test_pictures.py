"""The README's pictures: there, as wide as a desk's page, and small."""

import re

import pytest
from PIL import Image

from tests import pictures
from tests.demonstration import ROOT

NAMED = re.findall(r"\]\((fixtures/pictures/[^)]+)\)", (ROOT / "README.md").read_text())


def test_the_readme_shows_every_picture_that_is_taken():
    assert len(NAMED) == 5
    assert {ROOT / name for name in NAMED} == set(pictures.PICTURES.glob("*.png"))


@pytest.mark.parametrize("name", NAMED)
def test_a_picture_is_as_wide_as_a_desks_page_and_small(name):
    path = ROOT / name
    with Image.open(path) as image:
        assert image.width == pictures.WIDTH
    assert path.stat().st_size < 100_000
