"""The comparison of frames as its page shows it: rows in words and figures, and what was assumed for them."""
