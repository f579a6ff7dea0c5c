"""Other people's tables: the four tables in and out, as CSV.

In: files of rows. Out: the fleet with the rows taken, and a report that accounts for each; or the
fleet as four files. Refused: a row with a cell that has no reading or two; nothing is taken then,
unless the good rows were asked for. A row read again is not taken again.
"""
