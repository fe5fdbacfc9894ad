"""How often a record was changed: what two people who change it at once are told apart by."""

from django.db import models


class Versioned(models.Model):
    """``version`` counts the changes. Whoever changes the record says which version that is based on.

    See :mod:`dispensing.services.meanwhile`.
    """

    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        abstract = True
