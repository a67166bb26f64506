"""From what a finished vehicle brings and what it costs to the highest price that still pays."""
