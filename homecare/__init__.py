"""Home care after a clinic visit: from what was found to a sheet of drills that fits the athlete's days."""
