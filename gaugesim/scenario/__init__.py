"""What could be: faults, checks, states and tolerances, each as a change of parameters and branches."""
