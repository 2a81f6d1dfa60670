"""JPEG: its codec, the parts of its files, and the guard that checks their structure before any library reads them."""
