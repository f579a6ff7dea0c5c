"""As what: tables, JSON, CSV, calendars, out of records.

In: records of the rooms below, and the width to fit. Out: text and bytes. No files, no clock, no
terminal; the same records give the same bytes.
"""
