"""Orders that a good dispenser would question, and clean ones, written down before their author had read a rule.

``python -m tests.orders.bad_orders`` prints how many of them the check catches, and what escapes.
"""
