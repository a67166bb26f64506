"""How the database came to be as it is, step by step."""
