"""What moves the bodies: pymunk for every result, minimal coordinates for cross-checks and the gain search."""
