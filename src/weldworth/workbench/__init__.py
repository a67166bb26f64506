"""The use cases: take in, weigh, ask."""
