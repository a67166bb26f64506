"""One file for each migration."""
