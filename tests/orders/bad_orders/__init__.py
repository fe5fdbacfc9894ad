"""Orders that a good dispenser would question, written before their author had read a rule, and clean ones beside them.

``python -m tests.orders.bad_orders`` prints how many of them the check catches.
"""
