"""The checks of this app: one file for each part of the machine they look at."""
