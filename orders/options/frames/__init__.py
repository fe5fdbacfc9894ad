"""Every frame in stock for one order and one lens: what it would measure and weigh, and what the check would say of it.

Built on the comparison of lenses: the same table, rules and judgement, with frames for rows.
"""
