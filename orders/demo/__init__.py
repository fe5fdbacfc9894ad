"""The invented practice of the demo: loaded from ``fixtures/demo`` through the same services as real work."""
