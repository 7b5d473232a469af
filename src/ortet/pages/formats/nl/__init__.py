"""How Dutch is read and written."""
