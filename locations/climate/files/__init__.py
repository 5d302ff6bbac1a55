"""Files of loggers as readings: pure functions on bytes and numpy arrays, with no framework.

`sheets.load` makes lines of cells of CSV, TXT or XLSX; `guessing.propose` says how they are read and what has to be asked;
`reading.read` reads them by a `Form` in which nothing is open. Whatever cannot be read raises `Unreadable` with line and cell.
"""
