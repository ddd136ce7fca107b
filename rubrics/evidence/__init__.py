"""From rows to what the craft checks take, a whole batch in a fixed number of queries.

What follows from it without a mark (what to mend, what to measure again) belongs here too.
"""
