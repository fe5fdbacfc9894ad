"""The chain that proves of rows which are only ever added that none was changed, taken out or put in afterwards."""

from django.db import models


class Seal(models.Model):
    """The hashes of some rows of one table: of all whose key is above ``after`` and at most ``through``.

    ``entries``: key and SHA-256 of each (`dispensing.evidence.chain`). ``sha256``: of all this and of the seal before.
    Like what it is about, a seal is never changed; numbers have no gaps.
    """

    number = models.PositiveBigIntegerField(primary_key=True)
    table = models.CharField(max_length=63)
    after = models.BigIntegerField()
    through = models.BigIntegerField()
    entries = models.BinaryField()
    sealed_at = models.DateTimeField(db_index=True)
    sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ["number"]
        constraints = [models.UniqueConstraint(fields=["table", "after"], name="sealed_once")]

    def __str__(self) -> str:
        return f"seal {self.number}"
