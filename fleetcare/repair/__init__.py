"""When it broke: tracing a fault, how long parts last by what was found, one engine from several.

In: the fleet, its history, the rule book. Out: records of advice, never a change. What tells
nothing is left out, counted and said.
"""
