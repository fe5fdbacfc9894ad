"""What proves that rows which never change did not: their hashes in one chain, and its newest link noted elsewhere.

``chain.py`` is arithmetic, ``tables.py`` knows which rows these are, ``sealing.py`` adds to the chain, ``heads.py``
notes its newest link outside the database; ``broken.py`` and ``triggers.py`` find what does not hold, for the doctor.
"""
