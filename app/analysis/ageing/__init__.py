"""Time at temperature, and what published models say that it takes.

`temperature_history` lays the places, logs and typical years of a battery end to end; `exposure`
turns hours at temperature into age; `loss_models` are the published models for lithium iron
phosphate; `log_overlap` judges two logs that know the same hours.
"""
