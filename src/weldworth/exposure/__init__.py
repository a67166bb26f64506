"""Where and how the vehicle lived, turned into metal loss: ISO 9223 rates, ISO 9224 time, the trade's multipliers."""
