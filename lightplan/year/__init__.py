"""Which weeks of a year have the best light: `plan` computes it, `words` describe it.

Imports `trip` and the packages above it. Start with `plan`.
"""
