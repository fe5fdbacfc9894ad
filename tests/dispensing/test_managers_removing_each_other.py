"""Two managers who remove each other at the same moment: one of them remains."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from dispensing.models import StaffUser
from dispensing.roles import Role
from dispensing.services.staff import StaffRefused, change_staff
from tests.people import person


@pytest.mark.django_db(transaction=True)
def test_two_managers_cannot_remove_each_other_at_once() -> None:
    ines, olga = person("ines"), person("olga", role=Role.MANAGER)
    both_ready = Barrier(2, timeout=10)

    def remove(actor: StaffUser, member: StaffUser) -> bool:
        try:
            both_ready.wait()
            change_staff(actor=actor, member=member, fields={"is_active": False})
        except StaffRefused:
            return False
        finally:
            connection.close()
        return True

    with ThreadPoolExecutor(2) as pool:
        removed = list(pool.map(remove, (ines, olga), (olga, ines)))
    assert sorted(removed) == [False, True]
    assert StaffUser.objects.filter(role=Role.MANAGER, is_active=True).count() == 1
