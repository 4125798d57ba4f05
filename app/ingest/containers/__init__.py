"""What a file is before it is text: a workbook, a packed table, a page, or something else.

`contents` tells what was brought and gives its parts: the sheets of a workbook, the files in a ZIP,
or nothing for plain text. A sheet becomes rows of text cells with full precision and days in ISO
order, so that everything behind reads it like any table and guesses nothing about its marks.

Rules: Nothing is believed of a packed file before it is looked at. A workbook is read in a process
of its own, whose memory and time end, so that a bomb ends that process and not the program. Of
something that is no table a sentence says what it is and what to do.
"""
