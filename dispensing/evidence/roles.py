"""Two roles of PostgreSQL: the owner, as whom migrations run, and the application, which can take off no trigger.

Only makes the SQL; whoever may create roles runs it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from dispensing.append_only import APPEND_ONLY_TABLES

NAME = re.compile(r"[a-z_][a-z0-9_]{0,62}")
MAY_BE_READ = "django_migrations"


class RoleNameError(ValueError):
    """A role cannot be called that here."""


def sql_of_roles(owner: str, application: str) -> str:
    """SQL that makes the roles and gives each what it needs; run again, it puts right what has changed.

    Raises `RoleNameError`.
    """
    for name in (owner, application):
        if not NAME.fullmatch(name):
            raise RoleNameError(f"{name}: a role's name is small letters, figures and underscores.")
    if owner == application:
        raise RoleNameError("The owner and the application must be two roles.")
    return "\n".join([*_roles(owner, application), *_of_owner(owner), *_of_application(owner, application), ""])


def _roles(*names: str) -> Iterator[str]:
    for name in names:
        there = f"SELECT FROM pg_roles WHERE rolname = '{name}'"
        yield f"DO $$ BEGIN IF NOT EXISTS ({there}) THEN CREATE ROLE {name} LOGIN; END IF; END $$;"


def _of_owner(owner: str) -> Iterator[str]:
    """Everything in the schema, old and new, and the right to add more. What extensions brought stays theirs."""
    yield f"DO $$ BEGIN EXECUTE format('GRANT CONNECT, CREATE ON DATABASE %I TO {owner}', current_database()); END $$;"
    yield "REVOKE CREATE ON SCHEMA public FROM PUBLIC;"
    yield f"GRANT USAGE, CREATE ON SCHEMA public TO {owner};"
    # The names have letters, figures and underscores only, or they were refused.
    yield f"""DO $$
DECLARE found record;
BEGIN
  FOR found IN SELECT oid::regclass AS name FROM pg_class
      WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p', 'v')
        AND NOT EXISTS (SELECT FROM pg_depend WHERE objid = pg_class.oid AND deptype = 'e') LOOP
    EXECUTE format('ALTER TABLE %s OWNER TO {owner}', found.name);
  END LOOP;
  FOR found IN SELECT oid::regprocedure AS name FROM pg_proc
      WHERE pronamespace = 'public'::regnamespace
        AND NOT EXISTS (SELECT FROM pg_depend WHERE objid = pg_proc.oid AND deptype = 'e') LOOP
    EXECUTE format('ALTER FUNCTION %s OWNER TO {owner}', found.name);
  END LOOP;
END $$;"""  # noqa: S608


def _of_application(owner: str, application: str) -> Iterator[str]:
    """To read and write rows, and no more; of rows that are only ever added, to read and add."""
    writes = "SELECT, INSERT, UPDATE, DELETE"
    yield f"GRANT USAGE ON SCHEMA public TO {application};"
    yield f"GRANT {writes} ON ALL TABLES IN SCHEMA public TO {application};"
    yield f"GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA public TO {application};"
    for kind, rights in (("TABLES", writes), ("SEQUENCES", "USAGE, SELECT")):
        yield f"ALTER DEFAULT PRIVILEGES FOR ROLE {owner} IN SCHEMA public GRANT {rights} ON {kind} TO {application};"
    for table in APPEND_ONLY_TABLES:
        yield f"REVOKE ALL ON {table} FROM {application};"
        yield f"GRANT SELECT, INSERT ON {table} TO {application};"
    yield f"REVOKE INSERT, UPDATE, DELETE ON {MAY_BE_READ} FROM {application};"
