"""The comparison of lenses as its page shows it: what is asked for, rows in words, pinned ones beside each other."""
