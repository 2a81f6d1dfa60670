"""The delivery check: faults of pictures, of a reel and of outputs, each with value, limit and source."""
