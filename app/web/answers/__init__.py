"""The JSON answers as plain values: what the command line prints and the API sends is the same.

Each file imports only what its answer needs, so that the quick ones stay quick.
"""
