"""What a delivery is held to: faults of pictures, of a reel and of outputs, each with its value, limit and source."""
