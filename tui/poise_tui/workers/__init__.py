"""Workers: threads with one job each, and the coordinator that hands them work and takes in their results."""
