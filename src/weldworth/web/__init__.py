"""The desk in the browser: pages and the HTTP API over the use cases of the workbench."""
