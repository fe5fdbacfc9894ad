"""What pages are given to show: rows, words and drawings, one file for each noun. It reads and never writes."""
