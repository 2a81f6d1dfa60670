"""The contact sheet: a folder of shots as one HTML file, with a record of the hashes of its files."""
