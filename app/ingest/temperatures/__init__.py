"""A logger's file of temperatures, to one mean an hour.

`temperature_reader` finds times and degrees the way `app.ingest.reader` does; `hourly_means` makes
the means and names gaps, stuck or failed sensors, and °F taken for °C.
"""
