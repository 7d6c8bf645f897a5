"""The command line: `main` has the commands, `learn` the one for frames.

`options` reads what is typed, `output` puts the result where it belongs. Imports
everything but `web`. Start with `main`.
"""
