"""What to ask for next, in money: the expected gain in the decision of every observation that is still missing."""
