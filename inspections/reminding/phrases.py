"""The fixed words of a message in four languages, as data.

Reasons stay in the language of the record: they are sentences about one boat's parts, as people
entered and the rules worded them. A kind of thing without a phrase here shows its English one.
"""

import datetime as dt

from django.utils import formats, translation

from ..models import Reminder

KINDS = {
    "deck": ("deck check", "Decksprüfung", "contrôle depuis le pont", "revisión desde cubierta"),
    "aloft": ("inspection aloft", "Prüfung im Mast", "inspection dans le mât",
              "inspección en el palo"),
    "mast_down": ("mast-down inspection", "Prüfung bei gelegtem Mast", "inspection mât à terre",
                  "inspección con el palo desarbolado"),
    "recheck": ("look again", "erneut ansehen", "à revoir", "volver a mirar"),
    "event": ("inspection now", "Prüfung sofort", "inspection immédiate", "inspección inmediata"),
    "alike": ("look at parts alike", "gleiche Teile ansehen", "voir les pièces semblables",
              "mirar las piezas iguales"),
    "demand": ("demand to answer", "Auflage zu erfüllen", "exigence à satisfaire",
               "exigencia por cumplir"),
    "age": ("renewal for the insurer", "Erneuerung für den Versicherer",
            "remplacement pour l’assureur", "renovación para la aseguradora"),
    "advice": ("recommendation", "Empfehlung", "recommandation", "recomendación"),
    "signature": ("second signature", "zweite Unterschrift", "seconde signature", "segunda firma"),
    "retension": ("re-tension", "nachspannen", "retendre", "retensar"),
    "held": ("boat held", "Boot bleibt im Hafen", "bateau retenu", "barco retenido"),
}  # fmt: skip

WORDS = {
    "today": ("today", "heute", "aujourd’hui", "hoy"),
    "by": ("by {on}, in {span}", "bis {on}, in {span}", "au plus tard le {on}, dans {span}",
           "a más tardar el {on}, en {span}"),
    "was_due": ("was due {on}, {span} ago", "war am {on} fällig, vor {span}",
                "devait être fait le {on}, il y a {span}", "vencía el {on}, hace {span}"),
    "since": ("since {on}", "seit dem {on}", "depuis le {on}", "desde el {on}"),
    "day": ("{n} day", "{n} Tag", "{n} jour", "{n} día"),
    "days": ("{n} days", "{n} Tagen", "{n} jours", "{n} días"),
    "months": ("{n} months", "{n} Monaten", "{n} mois", "{n} meses"),
    "years": ("{n} years", "{n} Jahren", "{n} ans", "{n} años"),
    "late": ("Late", "Überfällig", "En retard", "Atrasado"),
    "record": ("Record the inspection", "Prüfung eintragen", "Enregistrer l’inspection",
               "Registrar la inspección"),
    "open": ("Open its page", "Seite öffnen", "Ouvrir la page", "Abrir su página"),
    "what_holds": ("What holds it", "Was es festhält", "Ce qui le retient", "Qué lo retiene"),
    "things": ("{n} things to do", "{n} Dinge zu tun", "{n} choses à faire",
               "{n} cosas por hacer"),
    "of_it_late": ("{n} late", "{n} überfällig", "{n} en retard", "{n} atrasadas"),
    "fixed_date": ("the fixed date of this demonstration fleet",
                   "das feste Datum dieser Vorführung",
                   "la date fixe de cette démonstration", "la fecha fija de esta demostración"),
    "caution": (
        "Clear the stay first, sail off, and start at the bottom. Nobody goes aloft on a condemned "
        "or shocked rig until it is shored with halyards. What was not seen is no evidence of "
        "health, and a good inspection does not promise a life. Insurers, flag state and class "
        "rules come before any date here.",
        "Zuerst das Segel vom Stag, dann unten anfangen. Niemand steigt in ein verworfenes oder "
        "gestoßenes Rigg, bevor es mit Fallen abgefangen ist. Was nicht gesehen wurde, ist kein "
        "Beleg für Gesundheit, und eine gute Prüfung verspricht keine Lebensdauer. Versicherer, "
        "Flaggenstaat und Klassenregeln gehen jedem Datum hier vor.",
        "Dégagez d’abord l’étai, voile à bas, et commencez par le bas. Personne ne monte dans un "
        "gréement condamné ou ayant subi un choc avant qu’il soit étayé par des drisses. Ce qui "
        "n’a pas été vu ne prouve rien, et une bonne inspection ne promet pas de durée de vie. Les "
        "assureurs, l’État du pavillon et les règles de classe priment sur toute date donnée ici.",
        "Despeje primero el estay, sin vela, y empiece por abajo. Nadie sube a una jarcia "
        "condenada o golpeada hasta que esté asegurada con drizas. Lo que no se vio no demuestra "
        "nada, y una buena inspección no promete una duración. Las aseguradoras, el Estado de "
        "abanderamiento y las reglas de clase prevalecen sobre cualquier fecha de aquí.",
    ),
    "why_owner": (
        "Sent by {fleet} because you are the owner or skipper of these boats.",
        "Gesendet von {fleet}, weil Sie Eigner oder Skipper dieser Boote sind.",
        "Envoyé par {fleet} parce que vous êtes propriétaire ou skipper de ces bateaux.",
        "Enviado por {fleet} porque usted es armador o patrón de estos barcos.",
    ),
    "why_in_charge": (
        "Sent by {fleet} because you answer for these boats as its {role}.",
        "Gesendet von {fleet}, weil Sie für diese Boote verantwortlich sind ({role}).",
        "Envoyé par {fleet} parce que vous répondez de ces bateaux ({role}).",
        "Enviado por {fleet} porque usted responde de estos barcos ({role}).",
    ),
    "bosun": ("bosun", "Bootsmann", "bosco", "contramaestre"),
    "manager": ("manager", "Leitung", "responsable", "responsable"),
    "stop": ("No more of these messages", "Keine solchen Nachrichten mehr",
             "Ne plus recevoir ces messages", "No recibir más estos mensajes"),
    "more_drawn": (
        "The first {drawn} boats are drawn; {n} more are in the list below.",
        "Die ersten {drawn} Boote sind gezeichnet; {n} weitere stehen in der Liste darunter.",
        "Les {drawn} premiers bateaux sont dessinés ; {n} autres sont dans la liste ci-dessous.",
        "Los primeros {drawn} barcos están dibujados; {n} más están en la lista de abajo.",
    ),
}  # fmt: skip

LANGUAGES = ("en", "de", "fr", "es")
TEN_WEEKS, DAYS_A_MONTH = 70, 365.25 / 12


def say(key: str, language: str, **what: object) -> str:
    """Return a phrase. Raises KeyError for one that is not in the list."""
    return WORDS[key][LANGUAGES.index(language)].format(**what)


def kind(value: str, language: str) -> str:
    """Return what is due, in words."""
    if value in KINDS:
        return KINDS[value][LANGUAGES.index(language)]
    return Reminder.Kind(value).label


def date(day: dt.date, language: str) -> str:
    """Return a date as people write it: ``3 May 2026``, ``3. Mai 2026``."""
    if language == "en":
        return f"{day.day} {day:%b %Y}"
    with translation.override(language):
        return formats.date_format(day, "DATE_FORMAT")


def when(due_on: dt.date, today: dt.date, language: str) -> str:
    """Return ``by 3 May 2026, in 7 days`` or ``was due 3 May 2026, 12 days ago``."""
    if due_on == today:
        return say("today", language)
    words = span(abs((due_on - today).days), language)
    key = "was_due" if due_on < today else "by"
    return say(key, language, on=date(due_on, language), span=words)


def span(days: int, language: str) -> str:
    """Return a span of time as people say it: days, from ten weeks on months, then years."""
    if days < TEN_WEEKS:
        return say("day" if days == 1 else "days", language, n=days)
    months = round(days / DAYS_A_MONTH)
    if months < 24:
        return say("months", language, n=months)
    years = say("years", language, n=months // 12)
    return f"{years} {say('months', language, n=months % 12)}" if months % 12 else years
