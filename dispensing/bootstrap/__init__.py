"""Sets up a bare machine: ``.venv`` from the lock files, and the system packages a command needs.

Standard library only, and never Django: it runs before anything is installed. In production it does nothing.
"""
