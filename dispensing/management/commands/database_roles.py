"""``manage.py database_roles --owner NAME --application NAME``: the SQL of two roles, for ``psql``."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from dispensing.evidence.roles import RoleNameError, sql_of_roles


class Command(BaseCommand):
    help = "Prints the SQL that makes PostgreSQL's owner of the tables and the role the application signs in as."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--owner", default="datumline_owner", metavar="NAME", help="migrations run as this role")
        parser.add_argument("--application", default="datumline", metavar="NAME", help="everything else runs as this")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            self.stdout.write(sql_of_roles(options["owner"], options["application"]))
        except RoleNameError as refused:
            raise CommandError(str(refused)) from refused
