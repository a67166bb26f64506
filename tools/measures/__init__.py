"""What `make figures` measures: each module here has `measure() -> list[Figure]`."""
