"""The only writers of orders, deliveries, labs and catalogues, one file for each use case.

Arguments are named, each use case opens its own transaction, states change by conditional update, and nothing here
uses the network.
"""
