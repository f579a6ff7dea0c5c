"""Where it is kept: the fleet file, its schema, and every read and write of it.

In: records of the rooms below. Out: the same records, a `Fleet` and a `History`. Refused: files
that are damaged, foreign or newer (left untouched), writes that would break the log. This is the
only room that speaks to the database. An entry once written is never changed.
"""
