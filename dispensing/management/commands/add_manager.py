"""``manage.py add_manager``: the first person of a new practice, or a way back in when no manager is left.

All other staff are taken on by a manager, on the page *Staff*.
"""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from dispensing.forms.staff import StaffForm
from dispensing.roles import Role
from dispensing.services.staff import add_staff


class Command(BaseCommand):
    help = "Takes on a manager and prints the temporary password, once."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("sign_in_name", help="letters, figures and . _ - only; it cannot be changed later")
        parser.add_argument("given_name")
        parser.add_argument("family_name")

    def handle(self, *args: Any, sign_in_name: str, given_name: str, family_name: str, **options: Any) -> None:
        form = StaffForm(
            {"username": sign_in_name, "first_name": given_name, "last_name": family_name, "role": Role.MANAGER}
        )
        if not form.is_valid():
            raise CommandError(" ".join(str(fault) for faults in form.errors.values() for fault in faults))
        member, password = add_staff(actor=None, fields=form.cleaned_data)
        self.stdout.write(f"{member.display_name} signs in as {member.username} with this temporary password:")
        self.stdout.write(f"\n    {password}\n")
        self.stdout.write("It is shown this once. The first thing asked after signing in is a password of one's own.")
