"""Force laws of the walking person and the ground: pure, compiled, and free of any physics engine."""
