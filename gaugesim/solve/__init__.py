"""Two engines for one question: which voltages and currents does a network settle at."""
