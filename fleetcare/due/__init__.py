"""When it ends: clocks, life used, dates, status, and the working of a row.

In: a fleet, its history as of a day, the rule book. Out: one `Due` per job of every engine.
Nothing is refused: a rule that does not fit has no row, and what is not known says so.
"""
