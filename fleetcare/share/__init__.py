"""Who gets it: feeds by audience, their subscribers, and what was last sent to them.

In: rows of the due list, and the fleet file that remembers what was sent and to whom. Out: events
with their SEQUENCE and stamp, the bytes of feeds, a folder of files that any web server hands out.
Refused: an audience or a subscriber that nobody knows, another fleet's folder.
"""
