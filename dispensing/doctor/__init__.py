"""What ``manage.py doctor`` looks at. When the doctor runs, it imports this module from every app.

An app adds its own checks in a module ``doctor`` that uses `dispensing.doctor.registry.doctor_check`.
"""

from dispensing.doctor.checks import database, files, mail, pdf, server, staff, tests

__all__ = ["database", "files", "mail", "pdf", "server", "staff", "tests"]
