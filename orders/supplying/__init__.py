"""What is said and arranged when a pair is given to its wearer, worked out from the order alone. Pure."""
