"""How numbers and days are read and written, by language."""
