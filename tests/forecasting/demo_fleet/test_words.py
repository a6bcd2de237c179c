"""The sheets speak the words of the screen, so that the import knows every one of them."""

from fleet.models import Installation, Price, Stay
from forecasting.demo_fleet import prices, words
from forecasting.demo_fleet.fleets import settings
from forecasting.demo_fleet.sheets import HEADERS
from inspections.importing import SHEETS
from inspections.models import Inspection


def _labels(choices: type, *, blank: bool = True) -> dict[str, str]:
    return dict(choices.choices) | ({"": ""} if blank else {})


def test_every_word_is_the_label_of_its_code():
    assert words.STAYS.items() <= _labels(Stay.Name).items()
    assert words.CONSTRUCTIONS.items() <= _labels(Installation.Construction).items()
    assert _labels(Installation.Terminal) == words.TERMINALS
    assert _labels(Installation.Certainty, blank=False) == words.CERTAINTIES
    assert _labels(Installation.Removal) == words.REMOVALS
    assert _labels(Installation.Spot) == words.PLACES
    assert _labels(Inspection.Level, blank=False) == words.LEVELS
    assert _labels(Price.Item, blank=False) == prices.ITEMS


# The books of the demo, kept for years, know none of it; a blank is a no, or not known.
NO_DEMO_HAS = {
    "turn-round check", "signed", "thread", "thread hand", "mast end fitting", "adjuster setting",
    "renewal needs proof",
}  # fmt: skip


def test_every_sheet_has_the_headers_the_import_knows():
    known = {sheet.layout.name: set(sheet.layout.headers) for sheet in SHEETS}
    assert list(known)[: len(HEADERS)] == list(HEADERS)
    for name, line in HEADERS.items():
        assert set(line.split(" | ")) == known[name] - NO_DEMO_HAS, name


def test_every_role_is_taken_by_someone_who_signs_in():
    roles = {member["role"] for fleet in settings()["fleets"] for member in fleet["members"]}
    assert roles == {"manager", "bosun", "accountant"}
