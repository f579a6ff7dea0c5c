"""The door: one module a command. Each turns options into one call and a record into text.

In: what was typed. Out: results on stdout, notes and errors on stderr, and the exit codes of
DEVELOPERS.md. `context.py` is the only place that asks the clock; imports of the rooms below
stand inside the command bodies, so that the help loads neither database nor calendar library.
"""
