"""Notices to patients: that a pair is ready, late or still waiting; in the practice's words, at civil hours. Pure.

They say nothing of powers or lenses. Nothing here knows how a notice leaves.
"""
