"""What a person can choose, and how it is read from a form, a link or an option.

`table` lists every choice: its name, label, usual value and reader. The form, the
links, the defaults and the command line's options are made from it. `raw` holds
the texts as typed, `state` turns them into a `Request` or repairs them. Imports
everything but `export`, `cli` and `web`. Start with `table`.
"""
