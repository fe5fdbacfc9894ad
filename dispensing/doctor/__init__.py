"""What ``manage.py doctor`` looks at. When the doctor runs, it imports this module from every app.

An app adds its own checks in a module ``doctor`` that uses `dispensing.doctor.registry.doctor_check`.
"""

from dispensing.doctor.checks import (
    at_rest,
    database,
    evidence,
    files,
    mail,
    pdf,
    references,
    roles,
    second_factors,
    server,
    staff,
    stored_files,
    tests,
)

__all__ = [
    "at_rest",
    "database",
    "evidence",
    "files",
    "mail",
    "pdf",
    "references",
    "roles",
    "second_factors",
    "server",
    "staff",
    "stored_files",
    "tests",
]
