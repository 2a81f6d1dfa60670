"""Exchange in published standards: ASC CDL and CLF files, ids of shots, and the folder to write to."""
