"""Whether what never changes can be shown not to have changed."""
