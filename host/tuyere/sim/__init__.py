"""The simulated pit: fire, air, walls, meat and the weather of a cook."""
