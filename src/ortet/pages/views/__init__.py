"""One module a subject: guard, ask, act, answer."""
