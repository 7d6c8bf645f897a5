"""The command line: `main` has the commands, `learn` the one for frames.

`options` reads what is typed, `output` puts the result where it belongs. Only the
command that serves the pages imports `web`, so that the others do without Dash.
Start with `main`.
"""
