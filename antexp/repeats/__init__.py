"""How many repeats: chance in closed form, simulated records, rehearsal, the bare gap."""
