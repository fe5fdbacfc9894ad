"""The dispensing record: staff, the practice, patients, prescriptions, frames, fittings, and the audit trail.

Models hold fields, constraints and small properties of their own columns. Writing is done by
``dispensing.services``, reading of lists by ``dispensing.queries``.
"""

from dispensing.models.audit import AuditEvent
from dispensing.models.fittings import Fitting, Measurement
from dispensing.models.frames import Frame
from dispensing.models.looks import Look
from dispensing.models.name_keys import NameKey
from dispensing.models.numbers import SerialNumber
from dispensing.models.paper import PaperReading, PaperState
from dispensing.models.patients import Patient
from dispensing.models.photos import FittingPhoto, PhotoMeasuring
from dispensing.models.practice import Practice
from dispensing.models.practice_rules import PracticeRule
from dispensing.models.prescriptions import PrescribedEye, Prescription, PrescriptionScan
from dispensing.models.seals import Seal
from dispensing.models.second_factors import AuthenticatorApp, RecoveryCode, RecoverySet
from dispensing.models.sessions import SignedIn
from dispensing.models.staff import StaffUser
from dispensing.models.tokens import TokenDetail
from dispensing.models.waiting import Waiting
from dispensing.models.worn_pairs import WornEye, WornPair

__all__ = [
    "AuditEvent",
    "AuthenticatorApp",
    "Fitting",
    "FittingPhoto",
    "Frame",
    "Look",
    "Measurement",
    "NameKey",
    "PaperReading",
    "PaperState",
    "Patient",
    "PhotoMeasuring",
    "Practice",
    "PracticeRule",
    "PrescribedEye",
    "Prescription",
    "PrescriptionScan",
    "RecoveryCode",
    "RecoverySet",
    "Seal",
    "SerialNumber",
    "SignedIn",
    "StaffUser",
    "TokenDetail",
    "Waiting",
    "WornEye",
    "WornPair",
]
