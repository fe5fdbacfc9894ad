"""The only writers of orders, deliveries, labs and catalogues; one file a use case.

Arguments are named, a use case opens its own transaction, states change by conditional update, and nothing
talks to the network.
"""
