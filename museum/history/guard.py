"""What keeps facts as they were written: triggers that refuse, and a role that may not.

Two database roles: the owner migrates; the program's own role has neither UPDATE nor DELETE nor
TRUNCATE on append-only tables and, not being their owner, cannot disable a trigger.

The one change that is let through is the erasing of personal words: a trigger function of the owner's, which
sets `house.erasing` while it runs and fires only when the program adds the fact that they are erased.
"""

from django.apps import apps
from django.db.backends.base.base import BaseDatabaseWrapper

from museum.history.models import AppendOnly

PROGRAM_ROLE = "program"

REFUSE = """
CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'UPDATE' AND current_setting('house.erasing', true) = 'yes'
       AND current_user = (SELECT pg_get_userbyid(relowner) FROM pg_class WHERE oid = TG_RELID) THEN
        RETURN NEW;
    END IF;
    RAISE EXCEPTION 'rows of % are facts: they are added, never changed or removed', TG_TABLE_NAME
        USING ERRCODE = 'integrity_constraint_violation';
END $$;
"""

TRIGGERS = """
CREATE OR REPLACE TRIGGER facts_stay BEFORE UPDATE OR DELETE ON {table}
    FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE OR REPLACE TRIGGER facts_stay_whole BEFORE TRUNCATE ON {table}
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
"""

GRANTS = """
GRANT USAGE ON SCHEMA public TO {role};
GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public TO {role};
GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA public TO {role};
"""


def append_only_tables() -> list[str]:
    """The tables whose rows are only ever added."""
    return sorted(m._meta.db_table for m in apps.get_models() if issubclass(m, AppendOnly) and not m._meta.proxy)


def install(connection: BaseDatabaseWrapper) -> None:
    """Puts triggers and grants in place, whatever was there before; run as the owner after migrating."""
    role = connection.ops.quote_name(PROGRAM_ROLE)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT 1 FROM pg_roles WHERE rolname = '{PROGRAM_ROLE}'")
        if cursor.fetchone() is None:
            cursor.execute(f"CREATE ROLE {role} NOLOGIN")
        cursor.execute(REFUSE)
        cursor.execute(GRANTS.format(role=role))
        for table in append_only_tables():
            quoted = connection.ops.quote_name(table)
            cursor.execute(TRIGGERS.format(table=quoted))
            cursor.execute(f"REVOKE UPDATE, DELETE, TRUNCATE ON {quoted} FROM {role}")
