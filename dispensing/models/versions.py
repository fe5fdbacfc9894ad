"""How often a record was changed, so that two people changing it at once can be told apart."""

from django.db import models


class Versioned(models.Model):
    """``version`` counts the changes. Whoever changes the record says which version the change is based on.

    See :mod:`dispensing.services.meanwhile`.
    """

    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        abstract = True
