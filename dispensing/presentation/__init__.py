"""What pages are given to show, one file a noun: rows, words and drawings. Reads; writes nothing."""
