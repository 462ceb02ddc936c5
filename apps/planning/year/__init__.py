"""A house year: hundreds of tasks over months, planned in coarse units to near the optimum."""
