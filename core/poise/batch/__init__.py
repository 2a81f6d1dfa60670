"""Many frames, unattended: a plan of every output, and the run that carries it out."""
