"""What is said about a prescription while it is typed: other notations, comparison, remarks, the optical cross.

Pure: figures in, figures and sentences out. It knows the optics core and must never know Django, the database,
a page or an order; what stops an order is judged by the order's own rules.
"""
