"""Whether the evidence carries a warranty claim, and what the battery was worth so far.

`warranty_level` makes a level of the maker's terms; `warranty_claim` holds the tests against it,
with `claim_objections` for what the maker could say; `cost_per_kwh` is the cost so far;
`warranty_report` joins them. One test decides a claim, not the line through all of them.
"""
