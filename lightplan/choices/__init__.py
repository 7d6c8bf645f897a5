"""What a person can choose, and how it is read from a form, a link or an option.

`table` lists every choice: its name, label, usual value and reader. From it follow
the form, the links, the defaults and the options of the command line. `raw` holds
the texts as typed, `state` turns them into a `Request` or mends them. Imports
everything but `export`, `cli` and `web`. Start with `table`.
"""
