"""Drawings as they were last looked at, kept as SVG."""
