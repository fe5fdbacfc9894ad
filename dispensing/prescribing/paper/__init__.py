"""A prescription on paper understood: from words with their places to figures, each with the place it was read from.

Whatever recognised the words can be put beneath it. What is not sure stays empty with its text, or is marked; no figure
is ever guessed. Must never open a file or know a recogniser.
"""
