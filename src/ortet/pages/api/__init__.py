"""The API: the same deeds and looks for programs, by OpenAPI. Each call is one of work's functions; nothing is computed here."""
