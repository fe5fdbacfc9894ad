"""Invented prescriptions on invented paper: drawn, damaged as phones and scanners do it, read, and counted.

``python -m tests.reading.measure --sample 60`` prints what was right, empty and wrong; the suite reads a handful.
"""
