"""Papers that go with the wood: each reads the book, hands plain values to `ortet.paper`, and returns a PDF. Books nothing."""
