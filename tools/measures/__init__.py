"""What `make figures` measures: each module here has `measure() -> list[Figure]`. On one thread, as the programs are."""

from weldworth.core.threads import one_thread

one_thread()
