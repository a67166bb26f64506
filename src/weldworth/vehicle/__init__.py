"""The vehicle: its body plan (the map of metal that can rust), its identity and its history."""
