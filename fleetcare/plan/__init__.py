"""Which day: jobs, visits and service days under what there is of minutes, boats and parts.

In: a problem in whole numbers. Out: an answer, its cost, what is proved of it. What has no day is
named with its reason, never dropped.
"""
