"""New rows put into a table by the thousand, as values: a model made of each takes twice the time.

No row here has anything that a model's ``save`` or a signal would add.
"""

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from django.db import connection, models


def insert(model: type[models.Model], names: Sequence[str], rows: Iterable[Sequence[Any]]) -> int:
    """Insert rows whose values stand in the order of ``names`` (attributes); return how many.

    Columns not named get the model's default, the key its own number. Raises IntegrityError as
    a save would.
    """
    rest = [f for f in model._meta.concrete_fields if not f.primary_key and f.attname not in names]
    fields = [*(_field(model, name) for name in names), *rest]
    given = [_prepared(field) for field in fields[: len(names)]]
    defaults = [_prepared(field)(field.get_default()) for field in rest]
    values = [
        [*(give(value) for give, value in zip(given, row, strict=True)), *defaults] for row in rows
    ]
    if values:
        with connection.cursor() as cursor:
            cursor.executemany(_statement(model, fields), values)
    return len(values)


def _field(model: type[models.Model], name: str) -> models.Field:
    return next(field for field in model._meta.concrete_fields if field.attname == name)


def _statement(model: type[models.Model], fields: Sequence[models.Field]) -> str:
    quote = connection.ops.quote_name
    columns = ", ".join(quote(field.column) for field in fields)
    places = ", ".join(["%s"] * len(fields))
    return f"INSERT INTO {quote(model._meta.db_table)} ({columns}) VALUES ({places})"


def _prepared(field: models.Field) -> Callable[[Any], Any]:
    """Return what makes a value one that the database takes; words and keys are ready, but for
    the choices among them, which are words of a class of their own."""
    if isinstance(field, models.CharField):
        return lambda value: None if value is None else str(value)
    if isinstance(field, models.ForeignKey):
        return lambda value: value
    return lambda value: None if value is None else field.get_db_prep_save(value, connection)
