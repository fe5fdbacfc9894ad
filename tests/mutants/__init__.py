"""A hand tool: small faults put into the program one at a time, to see which of them no test notices.

``python -m tests.mutants --seed 4711 --sample 120`` draws a fresh sample, runs the tests that matter for each fault in
a copy of the last commit, and prints what survived. Not part of the test run; a high share of kills is not the aim but
the sign that the tests say what the program is for.
"""
