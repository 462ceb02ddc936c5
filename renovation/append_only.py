"""Logs that cannot be altered: the database itself refuses, whoever asks."""

from __future__ import annotations

from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.operations.base import Operation
from django.db.migrations.state import ProjectState

SQLITE_ADD = """
CREATE TRIGGER {table}_no_{verb} BEFORE {verb} ON {table}
BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END
"""
POSTGRESQL_FUNCTION = """
CREATE OR REPLACE FUNCTION lifted_boards_append_only() RETURNS trigger AS $$
BEGIN RAISE EXCEPTION '%% is append-only', TG_TABLE_NAME
  USING ERRCODE = 'integrity_constraint_violation'; END
$$ LANGUAGE plpgsql
"""
POSTGRESQL_ADD = """
CREATE TRIGGER {table}_no_{verb} BEFORE {verb} ON {table}
FOR EACH ROW EXECUTE FUNCTION lifted_boards_append_only()
"""
VERBS = ("UPDATE", "DELETE")


class MakeAppendOnly(Operation):
    """Migration operation: triggers that refuse UPDATE and DELETE on one table."""

    reversible = True
    reduces_to_sql = True

    def __init__(self, table: str) -> None:
        self.table = table

    def state_forwards(self, app_label: str, state: ProjectState) -> None:
        """The models do not change."""

    def database_forwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        add_triggers(schema_editor, self.table)

    def database_backwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        drop_triggers(schema_editor, self.table)

    def describe(self) -> str:
        return f"Refuse UPDATE and DELETE on {self.table}"


class AllowChanges(MakeAppendOnly):
    """The reverse, for a migration that has to change the table's columns or fill them.

    SQLite rebuilds a table to change it, which drops its triggers anyway. End with
    `MakeAppendOnly` again.
    """

    def database_forwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        drop_triggers(schema_editor, self.table)

    def database_backwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        drop_triggers(schema_editor, self.table)
        add_triggers(schema_editor, self.table)

    def describe(self) -> str:
        return f"Allow UPDATE and DELETE on {self.table}"


def add_triggers(schema_editor: BaseDatabaseSchemaEditor, table: str) -> None:
    postgresql = schema_editor.connection.vendor == "postgresql"
    if postgresql:
        schema_editor.execute(POSTGRESQL_FUNCTION.replace("%%", "%"), None)
    template = POSTGRESQL_ADD if postgresql else SQLITE_ADD
    for verb in VERBS:
        schema_editor.execute(template.format(table=table, verb=verb))


def drop_triggers(schema_editor: BaseDatabaseSchemaEditor, table: str) -> None:
    on_table = f" ON {table}" if schema_editor.connection.vendor == "postgresql" else ""
    for verb in VERBS:
        schema_editor.execute(f"DROP TRIGGER IF EXISTS {table}_no_{verb}{on_table}")
