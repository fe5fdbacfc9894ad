"""The documents of an order: what a lab is asked to make, from which catalogue, and what the check found.

Pure: knows pydantic and the formats, never Django, a database, a clock or a page.
"""
