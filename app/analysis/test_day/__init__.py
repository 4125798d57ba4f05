"""Planning a capacity test, and carrying it through while it runs.

`plan` chooses when to start, and says before what the test will be able to show. `running` follows
the test; `run_corrections` tells what readings said before they were corrected or struck out.
"""
