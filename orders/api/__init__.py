"""The HTTP API of orders: drafting and sending them, checking any order, and a lab's own view of what it was sent."""
