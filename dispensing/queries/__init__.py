"""Reading the record: lists, searches and pages, one module for each noun, each with a fixed number of queries."""
