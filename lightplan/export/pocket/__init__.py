"""The plan as one HTML page for a phone without a signal, and the cards it prints.

`page` puts the file together from `data`, `card` and the scripts beside them.
"""
