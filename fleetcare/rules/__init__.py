"""What should happen: rules, read from TOML, overlaid set on set, and the words around them.

In: the text of rule files. Out: `RuleBook` (sets by name), `Uses`, `Conditions`, `Incidents`; or
faults, each with file, task, key and the mended line. Only `shipped.py` touches the disk.
"""
