"""What ``manage.py doctor`` looks at. Django imports this module of every app when the doctor is called.

An app adds checks of its own by a module ``doctor`` that uses `dispensing.doctor.registry.doctor_check`.
"""

from dispensing.doctor.checks import database, files, mail, pdf, server, staff, tests

__all__ = ["database", "files", "mail", "pdf", "server", "staff", "tests"]
