"""Nights without charging: now, in the cold, on a day, with a second battery, and until when.

`nights_report` puts the answers together from the equally likely capacities of
battery.capacity_forecast: `cold_derating` takes the cold off, `use_cases` and `scenarios` are the
questions, `parallel_batteries` adds a second battery, `nights_end` finds the last day. A use is
judged by its own threshold; otherwise its nights and its dates would contradict each other.
"""
