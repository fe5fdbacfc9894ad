"""``manage.py take_off_second_factor``: the way back in for somebody who lost theirs when no manager is at hand."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from dispensing.models import StaffUser
from dispensing.services.second_factors import take_off_second_factor


class Command(BaseCommand):
    help = "Takes every second factor and recovery code off somebody; the password alone signs them in then."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("sign_in_name")

    def handle(self, *args: Any, sign_in_name: str, **options: Any) -> None:
        member = StaffUser.objects.filter(username=sign_in_name).first()
        if member is None:
            raise CommandError(f"Nobody signs in as {sign_in_name}.")
        told = take_off_second_factor(actor=None, member=member)
        self.stdout.write(f"{member.display_name} had {told or 'no second factor'}; the password alone is asked now.")
