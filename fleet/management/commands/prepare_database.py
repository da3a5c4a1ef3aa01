"""Give the services a database role that owns no table, so that row security holds."""

from __future__ import annotations

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import connection, transaction
from psycopg import sql

RIGHTS = (
    "GRANT USAGE ON SCHEMA public TO {role}",
    "GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public TO {role}",
    "GRANT USAGE ON ALL SEQUENCES IN SCHEMA public TO {role}",
)
FACTS = "SELECT rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = %s"


class Command(BaseCommand):
    """Make or renew the services' role; safe to run again, after every migration."""

    help = "Make the services' database role and give it rows, but no table."

    def handle(self, *_args: object, **_options: object) -> None:
        if connection.vendor != "postgresql":
            self.stdout.write("SQLite knows no roles: nothing to prepare.")
            return
        if not settings.SERVICE_ROLE:
            self.stdout.write("ROOFREG_SERVICE_ROLE is not set: nothing to prepare.")
            return
        with transaction.atomic(), connection.cursor() as cursor:
            name = sql.Identifier(settings.SERVICE_ROLE)
            cursor.execute(FACTS, [settings.SERVICE_ROLE])
            known = cursor.fetchone()
            if known is not None and known[0]:
                raise CommandError(
                    "ROOFREG_SERVICE_ROLE names a role that passes row security. "
                    "Choose another name."
                )
            if known is None:
                cursor.execute(sql.SQL("CREATE ROLE {}").format(name))
            if settings.SERVICE_PASSWORD:
                word = sql.Literal(settings.SERVICE_PASSWORD)
                alter = sql.SQL("ALTER ROLE {} LOGIN PASSWORD {}").format(name, word)
                cursor.execute(alter)
            for right in RIGHTS:
                cursor.execute(sql.SQL(right).format(role=name))
        self.stdout.write(f"The role {settings.SERVICE_ROLE} may read and write rows.")
