"""A second, slow reckoning of the due list, kept apart from the product on purpose.

Nothing here imports the product. It goes day by day, in exact fractions, and rebuilds what was
known on a day from the entries dated up to that day alone.
"""
