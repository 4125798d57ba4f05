"""Pictures that are no figures: they have no hover, no table and no key.

`sparkline` is the trend of a battery in a list.

`course` draws a test small enough that a file to send has one of each of its tests, beside the
readings as text. Its looks are classes of static/file.css, so that they are written once, and its
places are whole units. What a mark means is said once, above all of them.

`card` is the picture that a messenger shows beside a link (PNG, for messengers read no SVG). Its
letters come with the library that draws it: English ones, so ä is written ae.
"""
