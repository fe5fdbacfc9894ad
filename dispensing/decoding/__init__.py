"""Pictures are opened in a process of their own, with limits, one at a time.

A small file may hold a picture that takes a gigabyte, or crash the library that opens it. `one_at_a_time` hands it to
`child`, which is started on first use and used again; what is asked of it is a function named by its module.
"""
