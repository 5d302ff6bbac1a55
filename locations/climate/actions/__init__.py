"""All that changes the climate's records: loggers and their spans, what is read by hand, files and readings."""
