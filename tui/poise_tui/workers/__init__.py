"""Workers: threads with one job each, and the coordinator that gives them work and takes their results."""
