"""Patients: who they are, how to reach them, and what the law requires to be known before spectacles are made."""

import uuid

from django.db import models

from dispensing.models.staff import StaffUser
from dispensing.models.versions import Versioned


class PreferredContact(models.TextChoices):
    PHONE = "phone", "Phone"
    TEXT = "text", "Text message"
    EMAIL = "email", "E-mail"
    POST = "post", "Post"


class Patient(Versioned):
    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    reference = models.CharField(max_length=20, unique=True, editable=False)
    family_name = models.CharField(max_length=200)
    given_names = models.CharField(max_length=200)
    born_on = models.DateField("date of birth")
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField("e-mail", blank=True)
    address = models.TextField(max_length=500, blank=True)
    preferred_contact = models.CharField(max_length=10, choices=PreferredContact.choices, blank=True)
    # None: nobody asked. Only a patient who said no is left in peace altogether; nobody is taken to have said yes.
    may_be_contacted = models.BooleanField("agrees to be contacted about orders", null=True, blank=True)
    # Ways by which the patient agreed to be told; nobody else ever ticks them, and they can be taken back at any time.
    notices_by_email = models.BooleanField("agrees to be told by e-mail", default=False, db_default=False)
    notices_by_text = models.BooleanField("agrees to be told by text message", default=False, db_default=False)
    occupation = models.CharField(max_length=200, blank=True)
    recreation = models.CharField(max_length=200, blank=True)
    driver = models.BooleanField("drives", null=True, blank=True)
    sight_impaired = models.BooleanField("registered sight-impaired", default=False)
    guardian = models.CharField(max_length=200, blank=True, help_text="Name and phone, for a child.")
    notes = models.TextField(max_length=4000, blank=True)
    last_seen_on = models.DateField(null=True, blank=True)
    # What a search looks through: names, reference, phone and birth date; guardian, e-mail and address.
    search_text = models.TextField(editable=False, default="")
    contact_text = models.TextField(editable=False, default="", db_default="")
    registered_at = models.DateTimeField(auto_now_add=True)
    registered_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["family_name", "given_names", "pk"]
        # Those that find part of a text are made by `search_index.py`, for they differ by database.
        indexes = [
            models.Index(fields=["family_name", "given_names", "id"], name="patient_by_name"),
            models.Index(fields=["born_on"], name="patient_by_birth_date"),
        ]

    def __str__(self) -> str:
        return self.reference

    @property
    def full_name(self) -> str:
        return f"{self.given_names} {self.family_name}".strip()

    @property
    def listed_name(self) -> str:
        return f"{self.family_name}, {self.given_names}"
