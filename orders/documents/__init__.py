"""The documents of an order: what a lab is asked to make, from which catalogue, and what the check found.

Pure: it knows pydantic and the formats, and must never know Django, a database, a clock or a page.
"""
