"""Hidden faults to practise on."""
