"""What a server is set up with: examples for a proxy, units for systemd, containers, and gunicorn's settings."""
