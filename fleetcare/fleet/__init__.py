"""What there is: boats, engines, components, waters, settings.

In: values the user gave, already parsed. Out: frozen records and a `Fleet` that finds them by
name. Refused: names with control characters, unknown waters, uses and settings.
"""
