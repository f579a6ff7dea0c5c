"""Other people's tables: sheets as they are found, and our own four, in and out, as CSV or XLSX.

In: files of rows, and what a person said of them. Out: the fleet with the rows taken, and a report
that accounts for each; or the fleet as four files or one workbook. Nothing is guessed: a cell with
two readings or none refuses its row, a sheet that can be understood in two ways is asked about, and
nothing is taken then, unless the good rows were asked for. A row read again is not taken again.

text_file, parting, packed, workbook -> grid -> layout, lines, settling -> drafts -> resolving,
found_rows, slips, sifting -> accounts -> telling, report_rows.
"""
