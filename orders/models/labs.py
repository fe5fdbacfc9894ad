"""Labs, the catalogues they issue, and the users by which a lab reads its own orders."""

import uuid

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models

from dispensing.at_rest import EncryptedText
from dispensing.choice_words import label
from dispensing.models import StaffUser
from dispensing.models.versions import Versioned
from orders.documents.names import FRAME_SOURCES, SUPPLIES
from orders.lab_addresses import AddressRefused, checked

# As orders.models.deliveries.Channel has them, in the words of somebody who sets a lab up.
WAYS = [
    ("email", "By e-mail"),
    ("https", "Posted to the lab's own address, signed"),
    ("folder", "Into a folder that the lab watches"),
    ("api", "The lab fetches them over the API"),
    ("download", "Downloaded and passed on by hand"),
]

USUAL_SUPPLIES = [(code, label(words)) for code, words in SUPPLIES.items()]
USUAL_FRAME_SOURCES = [(code, label(words)) for code, words in FRAME_SOURCES.items() if code != "own"]


class Lab(Versioned):
    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=120, unique=True)
    account = models.CharField("our account number", max_length=40, blank=True)
    way = models.CharField("how orders go there", max_length=10, choices=WAYS, default="email")
    email = models.EmailField("e-mail for orders", blank=True)
    wants_json = models.BooleanField("JSON beside the PDF", default=True)
    url = models.CharField("address for signed posts", max_length=500, blank=True)
    folder = models.SlugField("watched folder", max_length=60, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    working_days = models.PositiveSmallIntegerField(
        "usual working days", default=7, help_text="From sending to arrival."
    )
    active = models.BooleanField(default=True)
    # What the practice usually orders here: a new draft begins with it.
    usual = models.BooleanField("our usual lab", default=False)
    usual_supply = models.CharField(max_length=6, choices=USUAL_SUPPLIES, default="fitted")
    usual_frame_source = models.CharField(max_length=12, choices=USUAL_FRAME_SOURCES, blank=True)
    # Design and treatments by the use of the pair, as ids of its catalogue: {"near": {"design": …, "treatments": […]}}.
    usual_lenses = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["usual"], condition=models.Q(usual=True), name="one_usual_lab"),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """A way needs its address, and an address must be one that orders may be posted to."""
        faults = {}
        if self.url:
            try:
                checked(self.url, loopback=settings.LABS_ON_THIS_MACHINE)
            except AddressRefused as refused:
                faults["url"] = str(refused)
        elif self.way == "https":
            faults["url"] = "Enter the address that the lab gave you for its orders."
        if self.way == "folder" and not self.folder:
            faults["folder"] = "Enter the folder's name."
        if faults:
            raise ValidationError(faults)


class LabUser(models.Model):
    """Ties an API user of role ``lab`` to the lab whose orders it may read."""

    user = models.OneToOneField(StaffUser, on_delete=models.CASCADE, related_name="lab_user")
    lab = models.ForeignKey(Lab, on_delete=models.CASCADE, related_name="users")

    def __str__(self) -> str:
        return f"{self.user} for {self.lab}"


class LabSecret(models.Model):
    """A secret shared with a lab, by which each of the two proves that what it posts comes from it.

    The newest signs. An older one goes on signing beside it until ``ends_at``, so that a lab can change at leisure.
    """

    lab = models.ForeignKey(Lab, on_delete=models.CASCADE, related_name="secrets")
    text = EncryptedText(max_length=400)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")
    ends_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"of {self.lab}, made {self.made_at:%Y-%m-%d}"


class Catalogue(models.Model):
    """An imported ``lens-catalogue/1``: its exact text, which never changes, and whether it is the one in use."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    lab = models.ForeignKey(Lab, on_delete=models.PROTECT, related_name="catalogues")
    issued_on = models.DateField(null=True, blank=True)
    text = models.TextField(editable=False)
    sha256 = models.CharField(max_length=64, editable=False)
    in_use = models.BooleanField(default=False)
    # When it last came into use; empty: it has only been looked at so far.
    used_at = models.DateTimeField(null=True, editable=False)
    # Unusual figures confirmed, each with path, says, by, at.
    confirmed = models.JSONField(default=list, editable=False)
    imported_at = models.DateTimeField(auto_now_add=True)
    imported_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["lab", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["lab"], condition=models.Q(in_use=True), name="one_catalogue_in_use_a_lab"),
            models.UniqueConstraint(fields=["lab", "sha256"], name="catalogue_imported_once"),
        ]

    def __str__(self) -> str:
        return f"{self.lab} {self.issued_on or ''}".strip()
