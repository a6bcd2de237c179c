"""The operation by which an app's first migration makes its tables."""

from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations import CreateModel, SeparateDatabaseAndState
from django.db.migrations.operations.base import Operation
from django.db.migrations.state import ProjectState


class MakeTables(SeparateDatabaseAndState):
    """Make the tables of these models as they are after the last of the operations.

    One by one, each operation renders anew every model that leads to the one it changes: nearly
    all of them, for nearly all lead to the fleet: nine of twelve seconds of the first start.
    """

    def __init__(self, operations: list[Operation]) -> None:
        super().__init__(state_operations=operations)

    def state_forwards(self, app_label: str, state: ProjectState) -> None:
        state.__dict__.pop("apps", None)  # Rendered already, it would follow every operation.
        super().state_forwards(app_label, state)

    def database_forwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        for operation in self._tables():
            operation.database_forwards(app_label, schema_editor, from_state, to_state)

    def database_backwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        for operation in reversed(self._tables()):
            operation.database_backwards(app_label, schema_editor, from_state, to_state)

    def _tables(self) -> list[CreateModel]:
        return [each for each in self.state_operations if isinstance(each, CreateModel)]
