"""What lies on the disk and in the database is of no use to whoever takes the disk."""
