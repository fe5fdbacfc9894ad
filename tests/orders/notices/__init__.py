"""Notices to patients: words, hours, consent, and how they leave."""
