"""The command line: each command reads its input, calls one use case and renders what came out."""
