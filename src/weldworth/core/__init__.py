"""Ground floor: errors, remarks, money, units and the spelling of words. Imports nothing of ours."""
