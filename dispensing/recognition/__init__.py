"""Recognising printed text: a picture or PDF in, words with their places out. It runs offline and in a child process.

Must never know what a prescription is; ``dispensing.prescribing.paper`` understands the words.
"""
