"""Reports: a folder of shots as one HTML file to look at, and as a record that proves what it was about."""
