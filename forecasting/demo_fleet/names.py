"""Invented boats and people."""

from collections.abc import Iterator
from random import Random

# fmt: off
FIRST = (
    "Amber", "Ashen", "Bright", "Cedar", "Coral", "Copper", "Dusky", "Early", "Ember", "Fair",
    "Fallow", "Gentle", "Golden", "Hazel", "High", "Indigo", "Ivory", "Jade", "Juniper", "Keen",
    "Lantern", "Linen", "Long", "Lucky", "Marble", "Misty", "Nimble", "Olive", "Pale", "Pearl",
    "Quiet", "Russet", "Saffron", "Silver", "Slate", "Swift", "Teal", "Umber", "Velvet",
    "Willow",
)
LAST = {
    "birds": (
        "Avocet", "Curlew", "Dunlin", "Fulmar", "Gannet", "Godwit", "Knot", "Linnet", "Merlin",
        "Osprey", "Petrel", "Plover", "Redshank", "Sanderling", "Shearwater", "Siskin", "Tern",
        "Turnstone", "Wagtail", "Whimbrel",
    ),
    "sky": (
        "Arc", "Cirrus", "Comet", "Corona", "Dawn", "Equinox", "Halo", "Horizon", "Lyra",
        "Meridian", "Mistral", "Moonrise", "Nova", "Solstice", "Spindrift", "Stratus", "Sundog",
        "Vesper", "Zenith", "Zephyr",
    ),
    "shore": (
        "Abalone", "Anemone", "Barracuda", "Bonito", "Conch", "Cowrie", "Dorado", "Limpet",
        "Manta", "Murex", "Nautilus", "Pompano", "Remora", "Sandbar", "Seahorse", "Starfish",
        "Tarpon", "Triton", "Wahoo", "Whelk",
    ),
}
CLUB_BOATS = (
    "Aurikkel", "Bølgen", "Duskregn", "Fjellrev", "Gråmåke", "Havsus", "Isrosa", "Kvitveis",
    "Lysning", "Myrull", "Måneskinn", "Nordavind", "Perlemor", "Rimfrost", "Røsslyng",
    "Skjærsand", "Snøklokke", "Solbris", "Stillevær", "Sørpeis", "Tåkelur", "Tyttebær",
    "Ulvestjerna", "Vårløysing",
)
GIVEN = (
    "Adaeze", "Anouk", "Benat", "Bram", "Carys", "Dario", "Edda", "Emre", "Femke", "Gaspard",
    "Hanne", "Idris", "Ilse", "Jarek", "Joana", "Kaia", "Leif", "Lionel", "Luca", "Maren",
    "Mateus", "Mirela", "Nadia", "Niall", "Odile", "Oskar", "Pilar", "Quirin", "Rafe", "Runa",
    "Sanne", "Selma", "Tarik", "Tomas", "Ulla", "Vasco", "Wenche", "Xabi", "Yara", "Zoran",
)
FAMILY = (
    "Abelone", "Ardvik", "Balcombe", "Barrenechea", "Calloway", "Dalsgarth", "Delacourtine",
    "Eikemoen", "Fenwright", "Garbutter", "Halvard", "Hollinsea", "Ibarzo", "Jutting",
    "Kestermann", "Korsgarden", "Lindqvarn", "Loxmere", "Marchetto", "Nesvold", "Okparra",
    "Orsetti", "Pallister", "Quennell", "Rasmunder", "Saltmarsh", "Sandovera", "Stavridou",
    "Tarrow", "Tolleson", "Ulvang", "Varga", "Vereecke", "Wetherlam", "Yildar", "Zandstra",
)
# fmt: on
NUMERALS = ("II", "III", "IV")


def boat_names(rng: Random, theme: str) -> Iterator[str]:
    """Yield two-word names of one theme in random order, then those with II, III: none twice."""
    pairs = [f"{first} {last}" for first in FIRST for last in LAST[theme]]
    rng.shuffle(pairs)
    yield from pairs
    for numeral in NUMERALS:
        yield from (f"{pair} {numeral}" for pair in pairs)


def people(rng: Random) -> Iterator[str]:
    """Yield names of people in random order, then with two family names: none twice."""
    pairs = [f"{given} {family}" for given in GIVEN for family in FAMILY]
    rng.shuffle(pairs)
    yield from pairs
    for second in FAMILY:
        yield from (f"{pair}-{second}" for pair in pairs if not pair.endswith(second))


def email(person: str) -> str:
    """An address in the domain reserved for examples (RFC 2606)."""
    return person.lower().replace(" ", ".") + "@example.org"
