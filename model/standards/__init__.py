"""Published figures as data, one file a subject, each table with its source and year."""
