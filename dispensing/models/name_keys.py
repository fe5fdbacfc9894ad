"""Every word of a name on record, under the keys by which nearly the same words find it (``dispensing/likeness.py``).

Words, not people: a name that a thousand patients share is there once. Nothing is taken out again, for a word that no
patient has any more finds nobody.
"""

from django.db import models


class NameKey(models.Model):
    key = models.CharField(max_length=30)
    word = models.CharField(max_length=30)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["key", "word"], name="name_key_once")]

    def __str__(self) -> str:
        return f"{self.key}: {self.word}"
