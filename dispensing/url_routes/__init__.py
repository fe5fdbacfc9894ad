"""Addresses, one module for each noun; :mod:`dispensing.urls` lists them. Names are ``noun-verb``."""
