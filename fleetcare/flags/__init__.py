"""What it leads to: precursors with their chains, conditions that stand, engines held.

In: rows of the due list, the history, the words around the rules. Out: a `Flag` an engine, worst
first. An engine is held while a finding of weight stop, or an incident that holds, waits for the
jobs it names. Nothing is refused.
"""
