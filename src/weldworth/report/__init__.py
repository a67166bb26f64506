"""What is shown of a weighing: rows and strings made once, then printed, drawn or written out."""
