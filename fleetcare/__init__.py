"""fleetcare keeps small outboard fleets running by renewing the cheap part while it still works.

The rooms, in the order of the journey:

fleet     what there is: boats, engines, components, waters, settings
log       what happened: entries, their order, the history as of a day
rules     what should happen: rule sets read from TOML
usage     how much each part has run: hours by day and water
due       when it ends: clocks, life used, dates, status
flags     what that leads to: precursors and their chains
plan      which day (to come)
repair    when it broke (to come)
show      as what: tables, JSON, CSV, calendars
store     where it is kept: the fleet file
share     who gets it (to come)
exchange  other people's tables: import and export
cli       the door
"""

__version__ = "0.1.0"
