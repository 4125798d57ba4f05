"""Pages that bring in a file or a table of many things: looked at first, stored on a word.

Each shows what was read with what was assumed and what is open; nothing is stored before the owner
says so, and then all of it or none. They use the pages of the things they bring in, and no page
uses them.
"""
