"""What becomes of the work when things are killed, the disk is full or the database goes away, again and again.

Run by hand: ``python -m tests.faults --rounds 60 --on postgresql``. Nothing here is part of the test run, which has one
small test of each of these troubles; this counts over many rounds what was lost, done twice or left stuck.
"""
