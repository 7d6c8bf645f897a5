"""Which weeks of a year hold the light: `plan` works it out, `words` say it.

Imports `trip` and what stands before it. Start with `plan`.
"""
