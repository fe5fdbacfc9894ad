"""A lab's catalogue looked at before it is used: what cannot be right, what is unusual, and what differs from another.

Pure: documents in, words out.
"""
