"""Independent references for Coatwright: a second and a third way to the same numbers."""
