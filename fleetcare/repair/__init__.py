"""When it broke: tracing a fault, what findings say of how long parts last, one engine from several.

In: the fleet, its history, the rule book. Out: records of advice, never a change. What tells
nothing is left out, counted and said.
"""
