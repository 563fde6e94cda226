"""Triggers that refuse to change a record, or to delete one of a farm that is not being erased."""

from typing import Any

from django.db import migrations

SQLITE = (
    """
    CREATE TRIGGER records_record_no_update BEFORE UPDATE ON records_record
    BEGIN SELECT RAISE(ABORT, 'a record is never changed'); END
    """,
    """
    CREATE TRIGGER records_record_no_delete BEFORE DELETE ON records_record
    WHEN NOT EXISTS (SELECT 1 FROM records_erasure WHERE farm_id = OLD.farm_id)
    BEGIN SELECT RAISE(ABORT, 'a record is never deleted'); END
    """,
)
POSTGRESQL = (
    """
    CREATE FUNCTION records_record_stays() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
        IF TG_OP = 'UPDATE' THEN
            RAISE EXCEPTION 'a record is never changed' USING ERRCODE = 'integrity_constraint_violation';
        END IF;
        IF NOT EXISTS (SELECT 1 FROM records_erasure WHERE farm_id = OLD.farm_id) THEN
            RAISE EXCEPTION 'a record is never deleted' USING ERRCODE = 'integrity_constraint_violation';
        END IF;
        RETURN OLD;
    END $$
    """,
    """
    CREATE TRIGGER records_record_stays BEFORE UPDATE OR DELETE ON records_record
    FOR EACH ROW EXECUTE FUNCTION records_record_stays()
    """,
)
UNDO = {
    "sqlite": (
        "DROP TRIGGER records_record_no_update",
        "DROP TRIGGER records_record_no_delete",
    ),
    "postgresql": (
        "DROP TRIGGER records_record_stays ON records_record",
        "DROP FUNCTION records_record_stays()",
    ),
}


def _run(statements: dict[str, tuple[str, ...]], schema_editor: Any) -> None:
    for statement in statements[schema_editor.connection.vendor]:
        schema_editor.execute(statement)


def guard(apps: Any, schema_editor: Any) -> None:
    _run({"sqlite": SQLITE, "postgresql": POSTGRESQL}, schema_editor)


def unguard(apps: Any, schema_editor: Any) -> None:
    _run(UNDO, schema_editor)


class Migration(migrations.Migration):
    dependencies = [("records", "0001_log_and_projections")]
    operations = [migrations.RunPython(guard, unguard, elidable=False)]
