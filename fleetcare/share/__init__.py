"""Who gets it: feeds for subscribers, and what was last sent to them.

In: events, and the fleet file that remembers what was sent. Out: events with their SEQUENCE and
stamp. Refused: nothing yet.
"""
