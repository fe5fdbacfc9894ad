"""The practice's own settings: one row, because one installation serves one practice."""

from decimal import Decimal

from django.db import models

from dispensing.models.versions import Versioned
from dispensing.trade import figure


class CylinderForm(models.TextChoices):
    MINUS = "minus", "Minus cylinder"
    PLUS = "plus", "Plus cylinder"


class EyeHeadings(models.TextChoices):
    R_L = "r_l", "R / L"
    OD_OS = "od_os", "OD / OS"


class Paper(models.TextChoices):
    USUAL = "", "What is usual in the country"
    A4 = "a4", "A4"
    LETTER = "letter", "US Letter"


class ToleranceStandard(models.TextChoices):
    ISO_21987 = "iso-21987-2017", "ISO 21987:2017"
    ANSI_Z80_1 = "ansi-z80.1-2015", "ANSI Z80.1-2015"
    ANSI_Z80_1_2020 = "ansi-z80.1-2020", "ANSI Z80.1-2020"


class SecondReaderFor(models.TextChoices):
    """Pairs that two people read before they are accepted, in a practice that wants it."""

    EVERY = "every", "Every pair"
    PROGRESSIVE = "progressive", "Progressives"
    PRISM = "prism", "Prescribed prism"
    STRONG = "strong", "Strong powers"
    PROTECTED = "protected", "Children and registered sight-impaired people"
    BORDERLINE = "borderline", "A borderline figure"


class Practice(Versioned):
    """Read through ``Practice.current()``; the row is made by a migration and can only be changed."""

    name = models.CharField("practice name", max_length=120, default="")
    address = models.TextField(blank=True, default="")
    phone = models.CharField(max_length=40, blank=True, default="")
    email = models.EmailField(blank=True, default="")
    country = models.CharField(max_length=2, default="GB", help_text="Two letters, as in GB or US.")
    state = models.CharField(max_length=10, blank=True, default="", help_text="Where its rules differ, as in CA.")
    tolerance_standard = models.CharField(
        max_length=20, choices=ToleranceStandard.choices, default=ToleranceStandard.ISO_21987
    )
    second_reader_for = models.JSONField("a second reader for", default=list, blank=True)
    cylinder_form = models.CharField(max_length=5, choices=CylinderForm.choices, default=CylinderForm.MINUS)
    eye_headings = models.CharField(max_length=5, choices=EyeHeadings.choices, default=EyeHeadings.R_L)
    paper = models.CharField(
        "paper of lab orders", max_length=6, choices=Paper.choices, blank=True, default=Paper.USUAL
    )
    rounding_mm = models.DecimalField(
        "rounding of measurements",
        max_digits=2,
        decimal_places=1,
        choices=[(Decimal("0.5"), "0.5 mm"), (Decimal("0.1"), "0.1 mm")],
        default=Decimal("0.5"),
    )
    test_vertex_mm = models.DecimalField(
        "vertex distance of tests here", max_digits=3, decimal_places=1, null=True, blank=True
    )
    order_prefix = models.CharField(max_length=6, default="D", help_text="Order numbers begin with it.")
    keep_adult_years = models.PositiveSmallIntegerField(
        "years to keep an adult's record",
        default=round(figure("record-keeping", "adult_years")),
        help_text="Counted from the day the patient was last seen.",
    )
    keep_child_until_age = models.PositiveSmallIntegerField(
        "age until which a child's record is kept",
        default=round(figure("record-keeping", "child_until_years")),
        help_text="At least; the later date holds.",
    )
    token_days = models.PositiveSmallIntegerField("days until an API token ends", default=365)
    idle_minutes = models.PositiveSmallIntegerField("minutes until an idle person is signed out", default=30)
    managers_need_second_factor = models.BooleanField("managers need a second factor", default=False)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(pk=1), name="practice_is_one_row"),
            models.CheckConstraint(
                condition=models.Q(rounding_mm__in=[Decimal("0.5"), Decimal("0.1")]),
                name="practice_rounding_known",
            ),
        ]

    def __str__(self) -> str:
        return self.name or "Practice"

    @classmethod
    def current(cls) -> "Practice":
        practice, _ = cls.objects.get_or_create(pk=1)
        return practice

    @property
    def right_heading(self) -> str:
        return "R" if self.eye_headings == EyeHeadings.R_L else "OD"

    @property
    def left_heading(self) -> str:
        return "L" if self.eye_headings == EyeHeadings.R_L else "OS"
