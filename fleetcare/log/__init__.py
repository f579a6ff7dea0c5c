"""What happened: entries, their order within a day, the history as of a day, a log's faults.

In: entries, in any order. Out: a `History` of columns per engine that the arithmetic reads.
Refused: what `faults.py` names; an entry is never changed, only withdrawn by a later one.
"""
