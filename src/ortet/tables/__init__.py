"""Files in: a grower's tables, loggers' and weather records. Values out; nothing is booked here."""
