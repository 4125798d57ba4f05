"""From a report to a figure as plain data, its sentence and its table.

A chart module has an `…_figure` function that makes the figure (plain data for Plotly, with
`theme.layout` and `theme.axis`) and an `…_chart` function that wraps it in a `Chart`: a name that
is unique on its page, a title, one sentence that says with numbers what the picture shows, a
caption of one line, and a note for whoever wants to know more. Everything else follows from that:
the picture that the server draws (`svg_figure`, `svg_surface`, `svg_marks`, `svg_legend`,
`svg_element`, `ticks`), the table (`data_table`), and the files, which have the address of the page
with ?chart=NAME.svg, .csv or .json.

`small` holds pictures of lists, of a file to send and of a link's preview, which are no figures.
A figure needs `reader` only where names have to find room in its language; elsewhere
`lambda _: …_figure(…)` is enough (`heat_chart`; `nights_chart` places names). The title of a chart
is for files and readers of the screen: a page has a heading of its own above it. Error bars, bounds
and levels of one look are in `trace_styles`. A page keeps what it drew by `drawn`, whose key is the
state of the records: a figure that shows anything else must name it there.

One picture suits every width of a page: its heights are pixels, its widths shares (`svg_surface`).
On paper and in files it has a width of its own, and a key. Plotly draws it anew, at the same place
to the pixel, when somebody wants it: a pointer, the focus, a tap, or an idle moment of a fast
machine (static/chart.js); over dates one may then zoom along the years.

Rules:
- Words are messages; `localized_figure` reads them for whoever looks. Hover texts come from
  `theme.hover`. The title of an axis carries its unit and heads its column in the table.
- A trace can be told from the others without its colour: symbol, dash, fill or label
  (tests/charts/test_colours.py). The name of an interval has 44 letters at most, for phones.
- meta LOWER_BOUNDS keeps the table from rounding a bound up; an annotation that is named level or
  event is listed in the table.
- Capacities are drawn on `capacity_range` everywhere, so that page, link and print agree.
- A new kind of trace, symbol or shape needs its drawing in `svg_marks` or `svg_figure` too. The SVG
  takes the same data as the script, so that the two cannot disagree.
- Names stand beside what they name, and there is no legend. They are placed once, for the
  narrowest plot (`label_placement`, `event_marks`): what stands clear there does so in every wider
  one, and no script has to measure. A name without room is left out; caption and table have it.
- A figure is written as the library reads it, and goes to the script as it is. An unknown property
  is a fault of ours: the plotly package finds it in the tests, and is not installed with Fadeline
  (71 MB). On a page that answers a form, or that refuses its address, the figure stands on the
  page. Where a figure cannot be fetched, the picture stays.

static/chart-library.js is the part of Plotly.js that draws lines, bars and heat maps, as its
package has it: a third of the whole. pyproject.toml names one version of the plotly package,
because both must be of the same version (a test compares them). For a new one, raise it there,
install it, and run python -m tests.tools.build_chart_library (needs npm).
"""
