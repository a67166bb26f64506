"""The HTTP API: the same use cases as the pages, for programs."""
