"""The farm's network: the doors through which phones come in, and the certificates that they are told by."""
