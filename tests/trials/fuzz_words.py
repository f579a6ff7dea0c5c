"""What the fuzzed rule files and calendars are made of: words that mean something, and not."""

from __future__ import annotations

HEADS = """\
[set]
[[task]]
[access.leg]
[access."gear leg"]
[[kit]]
[kit.spring]
[task]
[limits]
[nosuch]
""".splitlines()

TASKS = """\
impeller
plugs
swivel grease
new one
xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx

leg off
""".splitlines()

VALUES = """\
1
-1
0
1.5
1e9
inf
nan
true
""
"x"
"impeller"
[]
{}
[1]
["x"]
["impeller", "plugs"]
["overheating"]
["leg off"]
{ hours = 50 }
{ hours = 100, months = 12 }
{ months = 0 }
{ salt = { hours = 50 } }
[[]]
{ salt = { days = 3 }, fresh = { months = 1 } }
{ hp = "2-6" }
{ hp = [2, 6] }
{ stroke = 2 }
[{ name = "kit", number = 1 }]
[{}]
2026-07-18
10:00:00
{ days = 60, hours = 10, holds_until = ["water tube"] }
"gearcase"
"anyone"
"small-petrol"
99999999999999999999
0.000001
"in"
"season"
[1, 12]
{ months = [11, 3] }
["salt"]
"calendar"
{ task = "impeller" }
""".splitlines()

NAMES_OF_LINES = """\
DTSTART
DTEND
DURATION
RRULE
EXDATE
RDATE
EXRULE
UID
STATUS
RECURRENCE-ID
SUMMARY
LOCATION
TRANSP
SEQUENCE
BEGIN
END
DTSTART;VALUE=DATE
DTEND;VALUE=DATE
DTSTART;TZID=Europe/Berlin
DTSTART;TZID="X: y"
RECURRENCE-ID;RANGE=THISANDFUTURE
TZID
EXDATE;VALUE=DATE
RDATE;VALUE=PERIOD
COMPLETED
LAST-MODIFIED
TZOFFSETTO
TZOFFSETFROM
X-A;CN=b
""".splitlines()

OF_LINES = """\
20260720
20260720T090000
20260720T090000Z
20260325T023000
00010101
99991231
20260230
20260720T250000
P1D
PT1H
-P1W
P9999999D
PT0S
P1DT
20260720/P1D
20260720T090000Z/20260721T090000Z
Lapwing
Lapwing, Dunlin
1
2
CANCELLED
CONFIRMED
TRANSPARENT
OPAQUE
VEVENT
VTIMEZONE
STANDARD
DAYLIGHT
VALARM
VCALENDAR
VTODO
Europe/Berlin
+0100
-2400
+9999
FREQ=DAILY
FREQ=WEEKLY;BYDAY=MO,TU
FREQ=MONTHLY;BYDAY=-1SU;COUNT=5
FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU
FREQ=DAILY;INTERVAL=0
FREQ=YEARLY;BYYEARDAY=366
FREQ=DAILY;UNTIL=20260801
FREQ=MONTHLY;BYSETPOS=-1;BYDAY=MO,TU,WE,TH,FR
FREQ=HOURLY;BYHOUR=1
FREQ=WEEKLY;WKST=SU;INTERVAL=2
FREQ=

\\n\\,;:
""".splitlines()
