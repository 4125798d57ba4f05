"""From a page dataclass to an answer: environment, filters, styles, files of charts, errors.

`rendering` has one Jinja environment for each reader, which reads every message that a template
shows. `flash_message` makes "what was just done" from the stored data: the address carries only
?done=edit.battery.3.2, so a made-up address says nothing untrue, and a reload says what is so by
then. Pages for others never look at it. `preview_card` is what a messenger shows of a link.
`responsive_table` turns rows into cards on a phone (the filter stacked) and keeps the roles of a
table; a long table of numbers stays a table.

`drawn_charts` keeps a chart for readers who read alike, as long as the records that it shows are
the same. `indentation` takes that of templates away, but for a space where it parts words.

Terms: `dotted_terms` makes each term of domain.glossary a button where it first stands in a
sentence of a page; it opens the term's sentence, without a script, by touch and by key. Where a
term stands nowhere or in a form that `Term.said` does not name, word("rated_capacity") of
templates/_partials/words.html puts it there. Nothing is dotted in headings, labels, tables, large
figures and below data-undotted.

Styles: `STYLE_SHEETS` in `assets` is the order of the files, which a page gets as one. tokens.css
and drawings.css hold the colours, frame, words, answers, forms, tables and charts one subject each;
paper.css has what every page needs in print; screens.css comes last and takes back what narrow
screens, paper and the colours of a device need otherwise. Of two rules of one weight the later
wins, so keep what depends on that in one file. print.css lays out reports without a paper size,
with margins that fit A4 and Letter, heads of tables on each page, and figures and signatures kept
whole; the report number gets into the margin by attr() from <html data-report>, which some browsers
print on the first page only. A file to send carries the rules that its page uses (`used_styles`),
and file.css. tests/browser/test_print.py reads the printed pages; look at them too.

Colours: tokens.css names each by its role for the light, dark and sunlight look and for a device
with colours of its own; everything else uses roles. A new colour gets a role in each look (dark
stands twice), a line in tests/web/test_contrast.py and, where charts use it, one in `ROLES` of
app/charts/theme.py and in drawings.css. Figures and drawings carry the light colours; chart.js and
drawings.css replace them; paper stays light. `theme` keeps a choice in a cookie; shared pages
follow the device.

Scripts: none inside a template. kept.js keeps typed readings in the browser until a store was
answered by the page of the test; the demo has none of it. Plotly.js comes only where
somebody wants a chart of it. Lines of styles and scripts have 200 characters at most (python -m
tests.tools.format_static).
"""
