"""What the order pages are given to show, one file per subject: rows, words and drawings. It reads and never writes."""
